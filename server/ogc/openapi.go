package ogc

import (
	"encoding/json"
	"strings"

	"tallybook/records"
)

// The parts of an OpenAPI 3.0 document that are needed here.
type (
	openAPI struct {
		OpenAPI    string             `json:"openapi"`
		Info       apiInfo            `json:"info"`
		Servers    []apiServer        `json:"servers"`
		Tags       []apiTag           `json:"tags"`
		Paths      *members[*apiPath] `json:"paths"`
		Components apiComponents      `json:"components"`
	}
	apiInfo struct {
		Title       string `json:"title"`
		Description string `json:"description"`
		Version     string `json:"version"`
	}
	apiServer struct {
		URL string `json:"url"`
	}
	apiTag struct {
		Name        string `json:"name"`
		Description string `json:"description"`
	}
	apiPath struct {
		Get *apiOperation `json:"get"`
	}
	apiOperation struct {
		Tags        []string              `json:"tags"`
		Summary     string                `json:"summary"`
		OperationID string                `json:"operationId"`
		Parameters  []apiParameter        `json:"parameters,omitempty"`
		Responses   *members[apiResponse] `json:"responses"`
	}
	apiParameter struct {
		Name        string `json:"name"`
		In          string `json:"in"`
		Description string `json:"description,omitempty"`
		Required    bool   `json:"required"`
		Style       string `json:"style"`
		Explode     bool   `json:"explode"`
		Schema      schema `json:"schema"`
		Example     any    `json:"example,omitempty"`
	}
	apiResponse struct {
		Ref         string                 `json:"$ref,omitempty"`
		Description string                 `json:"description,omitempty"`
		Headers     *members[apiHeader]    `json:"headers,omitempty"`
		Content     *members[apiMediaType] `json:"content,omitempty"`
	}
	apiHeader struct {
		Description string `json:"description"`
		Schema      schema `json:"schema"`
	}
	apiMediaType struct {
		Schema schema `json:"schema"`
	}
	apiComponents struct {
		Schemas   *members[schema]      `json:"schemas"`
		Responses *members[apiResponse] `json:"responses"`
	}
)

// apiVersion is that of the service's addresses and documents.
const apiVersion = "1.0.0"

// api answers with the OpenAPI document (3.0), or with a page that says the
// same.
func (c *call) api() error {
	if c.html {
		return c.s.o.Show(c.w, c.r, c.apiPage())
	}
	return c.sendJSON(typeOpenAPI, c.openAPI())
}

// openAPI describes the service as the asker may use it: the operations on
// collections once for each, with the parameters that it has.
func (c *call) openAPI() *openAPI {
	doc := &openAPI{OpenAPI: "3.0.3", Info: apiInfo{serviceTitle, c.about(), apiVersion},
		Servers: []apiServer{{c.href("")}}, Paths: &members[*apiPath]{},
		Tags:       []apiTag{{"service", "The service and what it holds"}},
		Components: apiComponents{commonSchemas(), commonResponses()}}
	for i := range operations {
		if op := &operations[i]; !strings.Contains(op.path, "{collectionId}") {
			doc.Paths.add(addressOf(op.path), &apiPath{c.describe(op, nil)})
		}
	}
	for _, of := range c.collections() {
		doc.Tags = append(doc.Tags, apiTag{of.Name, of.About})
		feature, page := collectionSchemas(of)
		doc.Components.Schemas.add(of.Name+"_feature", feature)
		doc.Components.Schemas.add(of.Name+"_featureCollection", page)
		for i := range operations {
			if op := &operations[i]; strings.Contains(op.path, "{collectionId}") {
				doc.Paths.add(strings.ReplaceAll(op.path, "{collectionId}", of.Name), &apiPath{c.describe(op, of)})
			}
		}
	}
	return doc
}

func addressOf(path string) string {
	if path == "" {
		return "/"
	}
	return path
}

func (c *call) describe(op *operation, of *records.FeatureCollection) *apiOperation {
	out := &apiOperation{Tags: []string{"service"}, Summary: op.summary, OperationID: op.id, Responses: &members[apiResponse]{}}
	ref := op.schema
	if of != nil {
		out.Tags, out.OperationID = []string{of.Name}, op.id+"_"+strings.ReplaceAll(of.Name, "-", "_")
		if ref == "feature" || ref == "featureCollection" {
			ref = of.Name + "_" + ref
		}
	}
	if strings.Contains(op.path, "{featureId}") {
		out.Parameters = append(out.Parameters, apiParameter{Name: "featureId", In: "path", Description: "The public name of the feature.", Required: true, Style: "simple", Schema: schema{Type: "string"}})
	}
	for _, p := range op.parameters(of) {
		out.Parameters = append(out.Parameters, apiParameter{Name: p.name, In: "query", Description: p.about, Style: "form", Explode: !p.form, Schema: p.schema, Example: p.sample()})
	}
	body := schema{Type: "object"}
	if ref != "" {
		body = schema{Ref: "#/components/schemas/" + ref}
	}
	content := &members[apiMediaType]{}
	content.add(op.kind, apiMediaType{body})
	if op.id == "download" {
		content.add(typeNDJSON, apiMediaType{schema{Type: "string", Format: "binary"}})
	} else {
		content.add(typeHTML, apiMediaType{schema{Type: "string"}})
	}
	answer := apiResponse{Description: op.summary + ".", Content: content}
	if op.id == "get" || op.id == "getOne" {
		answer.Headers = &members[apiHeader]{}
		answer.Headers.add("ETag", apiHeader{"What the answer is: sent back as If-None-Match it is answered with 304 while nothing has changed.", schema{Type: "string"}})
		answer.Headers.add("Content-Crs", apiHeader{"The coordinate reference system of the positions, in angle brackets.", schema{Type: "string"}})
		out.Responses.add("200", answer)
		out.Responses.add("304", apiResponse{Description: "Nothing has changed."})
	} else {
		out.Responses.add("200", answer)
	}
	out.Responses.add("400", apiResponse{Ref: "#/components/responses/InvalidParameter"})
	if of != nil {
		out.Responses.add("404", apiResponse{Ref: "#/components/responses/NotFound"})
	}
	out.Responses.add("500", apiResponse{Ref: "#/components/responses/ServerError"})
	return out
}

// sample is the parameter's example as its schema has it.
func (p *parameter) sample() any {
	switch {
	case p.example == "":
		return nil
	case p.schema.Type == "array":
		return json.RawMessage("[" + p.example + "]")
	case p.schema.Type == "string":
		return p.example
	}
	return json.RawMessage(p.example)
}

func commonResponses() *members[apiResponse] {
	out := &members[apiResponse]{}
	for _, r := range [][2]string{{"InvalidParameter", "A parameter is not known here or has a value that cannot be read."},
		{"NotFound", "There is nothing at this address."}, {"ServerError", "Something went wrong."}} {
		content := &members[apiMediaType]{}
		content.add(typeProblem, apiMediaType{schema{Ref: "#/components/schemas/exception"}})
		content.add(typeHTML, apiMediaType{schema{Type: "string"}})
		out.add(r[0], apiResponse{Description: r[1], Content: content})
	}
	return out
}

func ref(name string) schema { return schema{Ref: "#/components/schemas/" + name} }

func listOf(s schema) schema { return schema{Type: "array", Items: &s} }

func object(required string, parts ...any) schema {
	out := schema{Type: "object", Properties: &members[schema]{}}
	if required != "" {
		out.Required = strings.Fields(required)
	}
	for i := 0; i+1 < len(parts); i += 2 {
		out.Properties.add(parts[i].(string), parts[i+1].(schema))
	}
	return out
}

// commonSchemas are the documents that are not of one collection (17-069r4,
// clause 7; their members by the standard's own names).
func commonSchemas() *members[schema] {
	text := schema{Type: "string"}
	numbers := listOf(schema{Type: "number"})
	out := &members[schema]{}
	out.add("link", object("href rel", "href", text, "rel", text, "type", text, "title", text))
	out.add("landingPage", object("links", "title", text, "description", text, "links", listOf(ref("link"))))
	out.add("confClasses", object("conformsTo", "conformsTo", listOf(text), "links", listOf(ref("link"))))
	out.add("exception", object("", "type", text, "title", text, "status", schema{Type: "integer"}, "detail", text))
	out.add("extent", object("",
		"spatial", object("", "bbox", listOf(numbers), "crs", text),
		"temporal", object("", "interval", listOf(listOf(schema{Type: "string", Format: "date-time", Nullable: true})), "trs", text)))
	out.add("collection", object("id links", "id", text, "title", text, "description", text, "links", listOf(ref("link")),
		"extent", ref("extent"), "itemType", text, "crs", listOf(text), "storageCrs", text))
	out.add("collections", object("links collections", "links", listOf(ref("link")), "collections", listOf(ref("collection"))))
	point := object("type coordinates", "type", schema{Type: "string", Enum: []any{"Point"}},
		"coordinates", schema{Type: "array", Items: &schema{Type: "number"}, MinItems: 2, MaxItems: 2})
	point.Nullable = true
	out.add("point", point)
	return out
}

// collectionSchemas are a feature and a page of features of a collection.
func collectionSchemas(c *records.FeatureCollection) (feature, page schema) {
	feature = object("type geometry properties", "type", schema{Type: "string", Enum: []any{"Feature"}}, "id", schema{Type: "string"},
		"geometry", ref("point"), "properties", propertiesSchema(c), "links", listOf(ref("link")))
	page = object("type features", "type", schema{Type: "string", Enum: []any{"FeatureCollection"}},
		"numberMatched", schema{Type: "integer", Minimum: number(0), Description: "Left out where it would take going through very many features."},
		"numberReturned", schema{Type: "integer", Minimum: number(0)}, "timeStamp", schema{Type: "string", Format: "date-time"},
		"links", listOf(ref("link")), "features", listOf(ref(c.Name+"_feature")))
	return feature, page
}
