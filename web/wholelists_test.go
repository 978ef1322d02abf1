package web

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"wetside/internal/lab"
)

// Where the document promises a list or an object, an answer of nothing but
// zero values has one.
func TestNoListIsNull(t *testing.T) {
	x := busySite(t)
	doc, reg := loadSpec(t, x), x.srv.api.OpenAPI().Components.Schemas
	checked := 0
	for name := range reg.Map() {
		typ := reg.TypeFromRef(schemaRef + name)
		if typ == nil || typ.Kind() != reflect.Struct || strings.HasSuffix(name, "Request") {
			continue
		}
		v, _ := whole(reflect.Zero(typ))
		b, err := json.Marshal(v.Interface())
		if err != nil {
			t.Fatal(err)
		}
		var sent map[string]any
		if err := json.Unmarshal(b, &sent); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for key, p := range doc.Components.Schemas[name].Value.Properties {
			promised := p.Ref == "" && p.Value.Type != nil && (p.Value.Type.Includes("array") || p.Value.Type.Includes("object")) && !p.Value.Type.Includes("null")
			if value, is := sent[key]; promised && is {
				checked++
				if value == nil {
					t.Errorf("%s.%s may be null", name, key)
				}
			}
		}
	}
	if checked < 100 {
		t.Errorf("only %d lists and objects were looked at", checked)
	}
}

// What is shared is not written to, and what is left out stays out.
func TestFilledCopies(t *testing.T) {
	shared := []lab.Unit{{ID: "lab/a", Run: &lab.UnitRun{}, Load: &lab.Load{}}, {ID: "lab/b", Containers: []lab.Container{}, OpenAlerts: []string{}}}
	got := filled(shared)
	if shared[0].Run.Plan != nil || shared[0].Load.Rolls != nil || shared[0].Containers != nil {
		t.Errorf("what was given was written to: %+v", shared[0])
	}
	if got[0].Run.Plan == nil || got[0].Load.Rolls == nil || got[0].Containers == nil || got[0].ID != "lab/a" {
		t.Errorf("lists are missing: %+v", got[0])
	}
	if got[0].Processes != nil || got[0].Run.Rolls != nil {
		t.Errorf("what is left out when empty was filled: %+v", got[0])
	}
	if &filled(shared[1:])[0] != &shared[1] {
		t.Error("what was whole was copied")
	}
}
