package ogc_test

import (
	"encoding/json"
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
)

// TestOpenAPI holds the description of the service against OpenAPI 3.0
// (kin-openapi validates it) and against what the service does: every parameter
// that it names works, others are refused, and every answer is as its schema
// says.
func TestOpenAPI(t *testing.T) {
	w := newWorld(t)
	doc, err := openapi3.NewLoader().LoadFromData(w.get("/api", 200).body)
	if err != nil {
		t.Fatal(err)
	}
	if err := doc.Validate(t.Context()); err != nil {
		t.Fatalf("req/oas30/oas-definition-2: %v", err)
	}
	if doc.OpenAPI != "3.0.3" || len(doc.Servers) != 1 || doc.Servers[0].URL != w.http.URL+"/ogc" {
		t.Errorf("version %s, servers %v", doc.OpenAPI, doc.Servers)
	}
	parameters, answers := 0, 0
	for path, item := range doc.Paths.Map() {
		op := item.Get
		address := strings.ReplaceAll(path, "{featureId}", w.someID(t, path))
		for _, code := range []string{"200", "400", "500"} {
			if op.Responses.Value(code) == nil {
				t.Errorf("req/oas30/exceptions-codes: %s does not describe %s", path, code)
			}
		}
		answers += w.fits(t, op, address)
		for _, p := range op.Parameters {
			if p.Value.In != "query" {
				continue
			}
			parameters++
			q := "?" + p.Value.Name + "=" + url.QueryEscape(sampleOf(t, p.Value))
			w.get(address+q, 200)
			if strings.HasSuffix(path, "/items") {
				answers += w.fits(t, op, address+q)
			}
			problemOf(t, w.get(address+"?"+p.Value.Name+"x=1", 400))
			problemOf(t, w.get(address+"?"+strings.ToUpper(p.Value.Name)+"=1", 400))
		}
		problemOf(t, w.get(address+"?anything=1", 400))
	}
	if parameters < 100 || answers < 60 {
		t.Errorf("only %d parameters and %d answers were looked at", parameters, answers)
	}
	for _, c := range collectionsOf(t, w) { // req/oas30/completeness
		for _, end := range []string{"", "/items", "/items/{featureId}", "/download"} {
			if doc.Paths.Value("/collections/"+c.ID+end) == nil {
				t.Errorf("%s%s is not described", c.ID, end)
			}
		}
	}
}

// someID is the public name of a feature of the collection that a path is of.
func (w *world) someID(t *testing.T, path string) string {
	t.Helper()
	if !strings.Contains(path, "{featureId}") {
		return ""
	}
	return w.page(strings.TrimSuffix(path, "/{featureId}") + "?limit=1").ids()[0]
}

// fits holds an answer against the schema that the operation gives it, and
// tells how many were held: none where the answer is no JSON document.
func (w *world) fits(t *testing.T, op *openapi3.Operation, address string) int {
	t.Helper()
	s := w.get(address, 200)
	content := op.Responses.Value("200").Value.Content[s.header.Get("Content-Type")]
	if content == nil {
		t.Errorf("%s answers with %s, which is not described", address, s.header.Get("Content-Type"))
		return 0
	}
	var v any
	if err := json.Unmarshal(s.body, &v); err != nil {
		t.Errorf("%s: %v", address, err)
	}
	if err := content.Schema.Value.VisitJSON(v); err != nil {
		t.Errorf("%s is not as described: %.500v", address, err)
	}
	return 1
}

// sampleOf is the example that a parameter is described with, as a query string
// has it.
func sampleOf(t *testing.T, p *openapi3.Parameter) string {
	t.Helper()
	switch v := p.Example.(type) {
	case nil:
		t.Errorf("%s has no example", p.Name)
	case []any:
		var parts []string
		for _, one := range v {
			parts = append(parts, fmt.Sprint(one))
		}
		return strings.Join(parts, ",")
	}
	return fmt.Sprint(p.Example)
}
