package web

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/google/go-cmp/cmp"
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

// wireFields are the fields of each channel with the most that each number may
// be, as testdata/wire/fields.json has them, which was written by hand from the
// contract.
func wireFields(t *testing.T) map[string]map[string]*float64 {
	t.Helper()
	b, err := os.ReadFile("../testdata/wire/fields.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Channels map[string]struct {
			Fields map[string]struct{ Max *float64 }
		}
	}
	if err := json.Unmarshal(b, &file); err != nil {
		t.Fatal(err)
	}
	out := map[string]map[string]*float64{}
	for channel, c := range file.Channels {
		out[channel] = map[string]*float64{}
		for name, f := range c.Fields {
			out[channel][name] = f.Max
		}
	}
	return out
}

// describedFields are the same as the document has them.
func describedFields(t *testing.T) map[string]map[string]*float64 {
	t.Helper()
	doc := fromYAML(t, asyncAPI).(map[string]any)
	schemas := follow(t, doc, "#/components/schemas").(map[string]any)
	out := map[string]map[string]*float64{}
	for _, channel := range lab.Channels {
		name := strings.ToUpper(string(channel[:1])) + string(channel[1:])
		fields := map[string]*float64{}
		for _, part := range schemas[name].(map[string]any)["allOf"].([]any) {
			own, _ := part.(map[string]any)["properties"].(map[string]any)
			for field, schema := range own {
				s := schema.(map[string]any)
				if ref, ok := s["$ref"].(string); ok {
					s = follow(t, doc, strings.TrimPrefix(ref, "#/")).(map[string]any)
				}
				fields[field] = nil
				if most, ok := s["maximum"].(json.Number); ok {
					f, err := most.Float64()
					if err != nil {
						t.Fatal(err)
					}
					fields[field] = &f
				}
			}
		}
		out[string(channel)] = fields
	}
	return out
}

// A field of a channel is in the contract's table, in the document and in the
// Go type that ingest reads it into; whoever adds it to one is told of the others.
func TestFieldsOfChannels(t *testing.T) {
	table := wireFields(t)
	if diff := cmp.Diff(table, describedFields(t)); diff != "" {
		t.Errorf("fields and their maxima (-testdata/wire/fields.json +asyncapi.yaml):\n%s", diff)
	}
	body := reflect.TypeFor[lab.Message]()
	for _, channel := range lab.Channels {
		f, ok := body.FieldByNameFunc(func(name string) bool { return strings.EqualFold(name, string(channel)) })
		if !ok {
			t.Fatalf("lab.Message has no %s", channel)
		}
		var inTable, inGo []string
		for name := range table[string(channel)] {
			inTable = append(inTable, name)
		}
		for _, f := range reflect.VisibleFields(f.Type.Elem()) {
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			inGo = append(inGo, name)
		}
		slices.Sort(inTable)
		slices.Sort(inGo)
		if diff := cmp.Diff(inTable, inGo); diff != "" {
			t.Errorf("%s (-testdata/wire/fields.json +lab.%s):\n%s", channel, f.Name, diff)
		}
	}
}
