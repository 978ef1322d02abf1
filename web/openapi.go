package web

import (
	"reflect"
	"strings"
	"sync"

	"github.com/danielgtaylor/huma/v2"

	"wetside/internal/lab"
	"wetside/web/access"
	"wetside/web/load"
)

// apiConfig describes the API as a whole.
func apiConfig(version string) huma.Config {
	c := huma.DefaultConfig("wetside", version)
	// Documents are served by our own handlers, schemas in the document only.
	c.OpenAPIPath, c.DocsPath, c.SchemasPath = "", "", ""
	c.CreateHooks = nil
	c.Components.Schemas = huma.NewMapRegistry(schemaRef, schemaName)
	c.Transformers = []huma.Transformer{explain, wholeLists}
	c.Info.Description = "What the film processors of a lab are doing, what is wrong, and what to do about it. " +
		"Times are RFC 3339 with milliseconds, in UTC. The end of a field's name gives its unit: `_s` seconds, `_c` degrees Celsius, " +
		"`_l` liters, `_ml` milliliters. Fields may be added; a client ignores those it does not know.\n\n" +
		"Errors are problem details by RFC 9457. Live changes come over the WebSocket `" + apiBase + "/live`, " +
		"described with the telemetry in `asyncapi.yaml`.\n\nwetside advises; it is no safety device."
	c.Info.License = &huma.License{Name: "Apache-2.0", URL: "https://www.apache.org/licenses/LICENSE-2.0"}
	c.Servers = []*huma.Server{{URL: apiBase}}
	c.Components.SecuritySchemes = map[string]*huma.SecurityScheme{
		"bearer":  {Type: "http", Scheme: "bearer", Description: "An API token, made with `wetside token create`."},
		"session": {Type: "apiKey", In: "cookie", Name: access.SessionCookie, Description: "The cookie that POST /session sets."},
	}
	c.Tags = []*huma.Tag{
		{Name: "units", Description: "Units as they are now, and where a person is needed next."},
		{Name: "alerts", Description: "What is wrong or was."},
		{Name: "runs", Description: "What was processed."},
		{Name: "rolls", Description: "What rolls are for, whose they are and when they are promised; which of them wait."},
		{Name: "mixes", Description: "What was mixed, which bottle stands where, and which rolls met it. Silent until a lab first uses it."},
		{Name: "waste", Description: "The waste log: emptyings, weekly checks, totals, what is missing. Silent until a lead begins it."},
		{Name: "entries", Description: "What people stated, did and set: never changed, undone by a later entry."},
		{Name: "quarantine", Description: "Telemetry that was refused."},
		{Name: "session", Description: "Signing in and out."},
		{Name: "people", Description: "Who may sign in."},
	}
	return c
}

var labTime = reflect.TypeFor[lab.Time]()

// finishSpec completes the schemas by what the types cannot say themselves
// (package lab knows nothing of schemas). It gives the document, which is
// written when somebody first asks for it.
func finishSpec(doc *huma.OpenAPI) func() ([]byte, error) {
	reg := doc.Components.Schemas
	for name, schema := range reg.Map() {
		if t := reg.TypeFromRef(schemaRef + name); t != nil && t.Kind() == reflect.Struct {
			finishSchema(reg, name, schema, t)
		}
	}
	return sync.OnceValues(doc.YAML)
}

const schemaRef = "#/components/schemas/"

// schemasCalled names the schemas that are not called as their Go types are:
// who made a client of the document knows them by these names.
var schemasCalled = map[reflect.Type]string{
	reflect.TypeFor[lab.LabSettings](): "House",
	reflect.TypeFor[lab.MethodFault](): "WayFault",
	reflect.TypeFor[load.Reason]():     "LoadReason",
	reflect.TypeFor[load.Plan]():       "LoadPlan",
}

func schemaName(t reflect.Type, hint string) string {
	base := t
	if t.Kind() == reflect.Pointer {
		base = t.Elem()
	}
	if name, ok := schemasCalled[base]; ok {
		return name
	}
	return huma.DefaultSchemaNamer(t, hint)
}

func finishSchema(reg huma.Registry, name string, schema *huma.Schema, t reflect.Type) {
	request := strings.HasSuffix(name, "Request")
	if !request {
		schema.AdditionalProperties = nil // fields may be added to answers
	}
	if d, ok := typeDocs[name]; ok {
		schema.Description = d
	}
	for _, f := range reflect.VisibleFields(t) {
		key, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		p := schema.Properties[key]
		if p == nil || f.Anonymous {
			continue
		}
		if !request {
			finishField(p, f.Type, strings.Contains(options, "omit"))
		}
		if p.Description == "" {
			p.Description = sharedDocs[key]
		}
	}
}

// finishField says of a field what its Go type means in JSON.
func finishField(p *huma.Schema, t reflect.Type, optional bool) {
	base := t
	if t.Kind() == reflect.Pointer {
		base = t.Elem()
	}
	if len(p.Enum) > 0 && p.Nullable {
		p.Enum = append(p.Enum, nil) // the tag names the words only
	}
	switch {
	case base == labTime:
		p.Format = "date-time"
		p.Examples = []any{"2026-03-01T09:30:00.000Z"}
	case base.Kind() == reflect.Slice && base.Elem().Kind() != reflect.Uint8:
		p.Nullable = false // tidied: a list is never null
	case base.Kind() == reflect.Struct && t != base && p.Ref != "" && !optional:
		p.OneOf = []*huma.Schema{{Ref: p.Ref}, {Type: "null"}}
		p.Ref = ""
	}
}
