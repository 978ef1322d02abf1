package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"
)

// apiServer is a wetside that a command sends something to.
type apiServer struct {
	address string // such as http://127.0.0.1:8080
	token   string
}

const (
	sendWithin = 30 * time.Second // one sending
	mostAnswer = 1 << 20
)

func (a apiServer) check() error {
	u, err := url.Parse(a.address)
	if err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" {
		return fmt.Errorf("--server must be an address such as http://127.0.0.1:8080; got %q", a.address)
	}
	return nil
}

// post sends body to a path of the API and gives the answer; what was refused
// is an error in the server's own words.
func (a apiServer) post(ctx context.Context, path, kind string, body []byte, header http.Header) ([]byte, error) {
	ctx, cancel := context.WithTimeout(ctx, sendWithin)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, strings.TrimSuffix(a.address, "/")+"/api/v1"+path, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	for name, values := range header {
		req.Header[name] = values
	}
	req.Header.Set("Content-Type", kind)
	req.Header.Set("Authorization", "Bearer "+a.token)
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		return nil, err
	}
	defer resp.Body.Close()
	answer, err := io.ReadAll(io.LimitReader(resp.Body, mostAnswer))
	if err != nil {
		return nil, err
	}
	if resp.StatusCode/100 != 2 {
		var problem struct{ Title, Detail string }
		_ = json.Unmarshal(answer, &problem) // what does not read says nothing more
		return nil, fmt.Errorf("%s: %s %s", resp.Status, problem.Title, problem.Detail)
	}
	return answer, nil
}
