package main

import (
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A list goes in as it stands; what is refused is said row by row, and the exit
// status tells.
func TestRollsSend(t *testing.T) {
	t.Parallel()
	var got, how string
	refused := `[{"row":3,"twin_check":"a b","error":"twin check \"a b\": 1 to 32 digits and letters"}]`
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		b, _ := io.ReadAll(r.Body)
		got, how = string(b), r.Method+" "+r.URL.Path+" "+r.Header.Get("Authorization")+" "+r.Header.Get("Content-Type")
		if strings.Contains(got, "everything") {
			w.WriteHeader(http.StatusUnprocessableEntity)
			fmt.Fprint(w, `{"title":"Unprocessable Entity","detail":"the list does not read"}`)
			return
		}
		fmt.Fprintf(w, `{"new":1,"changed":0,"same":0,"taken":[{"row":2,"twin_check":"7","became":"new"}],"refused":%s,"ignored":["Shelf"]}`, refused)
	}))
	defer srv.Close()
	to := []string{"--server", srv.URL + "/", "--token", "x"}
	const list = "twin check,process\n7,c41\na b,c41\n"
	code, out, errOut := run1(t, list, append([]string{"rolls", "send"}, to...)...)
	if code != exitFailed || got != list || how != "POST /api/v1/rolls.csv Bearer x text/csv" || out != "1 new, 0 changed, 0 known already, 1 not taken\n" ||
		!strings.Contains(errOut, "columns not used: Shelf") || !strings.Contains(errOut, "row 3: twin check") || !strings.Contains(errOut, "1 of 2 rows not taken") {
		t.Errorf("exit %d, sent %q by %q, stdout %q, stderr %q", code, got, how, out, errOut)
	}
	refused = "[]"
	file := filepath.Join(t.TempDir(), "list.csv")
	if err := os.WriteFile(file, []byte("7\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, errOut := run1(t, "", append([]string{"rolls", "send", file}, to...)...); code != exitDone || got != "7\n" {
		t.Errorf("a file: exit %d, sent %q, %s", code, got, errOut)
	}
	if code, _, errOut := run1(t, "everything", append([]string{"rolls", "send"}, to...)...); code != exitFailed || !strings.Contains(errOut, "the list does not read") {
		t.Errorf("refused whole: exit %d, %s", code, errOut)
	}
	for name, args := range map[string][]string{"no server": {"--token", "x"}, "no token": {"--server", srv.URL}, "no address": {"--server", "localhost", "--token", "x"}} {
		if code, _, _ := run1(t, "7\n", append([]string{"rolls", "send"}, args...)...); code != exitUsage {
			t.Errorf("%s: exit %d, want %d", name, code, exitUsage)
		}
	}
	if code, _, _ := run1(t, "", append([]string{"rolls", "send", "/does/not/exist"}, to...)...); code != exitFailed {
		t.Errorf("no such file: exit %d", code)
	}
}
