package web

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"wetside/internal/lab"
)

const asyncURL = "https://wetside.example/api/v1/asyncapi.yaml"

// asyncSchemas compiles the payload schema of every message of the document
// as it is served, by channel and message, references followed as a reader
// would.
func asyncSchemas(t *testing.T, x *site) map[string]*jsonschema.Schema {
	t.Helper()
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	c.AssertFormat()
	var doc map[string]any
	for _, name := range []string{"asyncapi.yaml", "openapi.yaml"} {
		_, b := x.do("GET", apiBase+"/"+name, "", "")
		v := fromYAML(t, b)
		if name == "asyncapi.yaml" {
			doc = v.(map[string]any)
		}
		if err := c.AddResource(strings.Replace(asyncURL, "asyncapi.yaml", name, 1), v); err != nil {
			t.Fatal(err)
		}
	}
	if doc["asyncapi"] != "3.0.0" {
		t.Fatalf("asyncapi is %v, want 3.0.0", doc["asyncapi"])
	}
	out := map[string]*jsonschema.Schema{}
	for channel, ch := range doc["channels"].(map[string]any) {
		for message, ref := range ch.(map[string]any)["messages"].(map[string]any) {
			msg := follow(t, doc, ref.(map[string]any)["$ref"].(string)).(map[string]any)
			payload := msg["payload"].(map[string]any)["$ref"].(string)
			s, err := c.Compile(asyncURL + payload)
			if err != nil {
				t.Fatalf("%s %s: %v", channel, message, err)
			}
			out[channel+"/"+message] = s
		}
	}
	return out
}

func fromYAML(t *testing.T, b []byte) any {
	t.Helper()
	j, err := yaml.YAMLToJSON(b)
	if err != nil {
		t.Fatal(err)
	}
	return fromJSON(t, j)
}

func fromJSON(t *testing.T, b []byte) any {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
	if err != nil {
		t.Fatalf("%v: %s", err, b)
	}
	return v
}

func follow(t *testing.T, doc any, ref string) any {
	t.Helper()
	for part := range strings.SplitSeq(strings.TrimPrefix(ref, "#/"), "/") {
		m, ok := doc.(map[string]any)
		if !ok || m[part] == nil {
			t.Fatalf("%s leads nowhere", ref)
		}
		doc = m[part]
	}
	return doc
}

// Every reference of the document leads to something.
func TestAsyncAPIReferences(t *testing.T) {
	doc := fromYAML(t, asyncAPI)
	n := 0
	var walk func(v any)
	walk = func(v any) {
		switch v := v.(type) {
		case map[string]any:
			if ref, ok := v["$ref"].(string); ok && strings.HasPrefix(ref, "#") {
				follow(t, doc, ref)
				n++
			}
			for _, e := range v {
				walk(e)
			}
		case []any:
			for _, e := range v {
				walk(e)
			}
		}
	}
	walk(doc)
	if n < 40 {
		t.Fatalf("only %d references found", n)
	}
}

// wireCase is a file of testdata/wire.
type wireCase struct {
	Name       string
	Topic      string
	Payload    json.RawMessage
	PayloadB64 string `json:"payload_b64"`
	Expect     struct {
		Accept *struct{ Will bool }
		Refuse *struct{ Code string }
	}
}

func wireCases(t *testing.T) []wireCase {
	t.Helper()
	files, err := filepath.Glob("../testdata/wire/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no wire cases: %v", err)
	}
	var out []wireCase
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		var c wireCase
		if err := json.Unmarshal(b, &c); err != nil {
			t.Fatalf("%s: %v", f, err)
		}
		if c.Topic == "" {
			continue // the table of fields
		}
		if c.PayloadB64 != "" {
			if c.Payload, err = base64.StdEncoding.DecodeString(c.PayloadB64); err != nil {
				t.Fatalf("%s: %v", f, err)
			}
		}
		out = append(out, c)
	}
	return out
}

// What is accepted on the wire is what the document describes. And what is
// refused for its fields is not, wherever a schema can say so.
func TestWireMatchesAsyncAPI(t *testing.T) {
	schemas := asyncSchemas(t, newSite(t, newShop()))
	accepted, refused := 0, 0
	for _, c := range wireCases(t) {
		_, channel, err := lab.ParseTopic(c.Topic)
		if err != nil {
			continue
		}
		name := string(channel) + "/" + string(channel)
		switch {
		case c.Expect.Accept != nil:
			accepted++
			if c.Expect.Accept.Will {
				name = "status/will"
			}
			if err := schemas[name].Validate(fromJSON(t, c.Payload)); err != nil {
				t.Errorf("%s is accepted on the wire, but not by %s: %v", c.Name, name, err)
			}
		case c.Expect.Refuse != nil && (c.Expect.Refuse.Code == "field" || c.Expect.Refuse.Code == "range"):
			refused++
			v, err := jsonschema.UnmarshalJSON(bytes.NewReader(c.Payload))
			if err != nil {
				continue
			}
			if schemas[name].Validate(v) == nil && (channel != lab.ChannelStatus || schemas["status/will"].Validate(v) == nil) {
				t.Errorf("%s is refused on the wire, but fits %s: %s", c.Name, name, c.Payload)
			}
		}
	}
	if accepted < 50 || refused < 50 {
		t.Errorf("%d accepted and %d refused cases: too few to mean anything", accepted, refused)
	}
}
