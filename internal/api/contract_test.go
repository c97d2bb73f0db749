package api

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// The schema of OpenAPI 3.1 documents, https://spec.openapis.org/oas/3.1/schema/2022-10-07 of the OpenAPI
// Initiative, Apache License 2.0. It leaves the schemas inside a document to JSON Schema itself.
//
//go:embed testdata/oas31-schema.json
var openAPI31 []byte

// contract is the document, to hold exchanges against.
type contract struct {
	c     *jsonschema.Compiler
	paths map[string]map[string]operation
}

type operation struct {
	Parameters  []parameter
	RequestBody *struct {
		Required bool
		Content  map[string]media
	}
	Responses map[string]struct {
		Headers map[string]media
		Content map[string]media
	}
}

type parameter struct {
	Name, In string
	Required bool
	Schema   json.RawMessage
}

type media struct{ Schema json.RawMessage }

const docURL = "mem:///openapi.json"

// newContract reads a document and checks that it is OpenAPI 3.1 and that every schema in it is JSON Schema
// 2020-12. All that is wrong is returned.
func newContract(raw []byte) (*contract, []error) {
	var faults []error
	fail := func(err error) { faults = append(faults, err) }
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
	if err != nil {
		return nil, []error{err}
	}
	meta, err := jsonschema.UnmarshalJSON(bytes.NewReader(openAPI31))
	if err != nil {
		return nil, []error{err}
	}
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	c.AssertFormat()
	for at, x := range map[string]any{"mem:///oas31.json": meta, docURL: doc} {
		if err := c.AddResource(at, x); err != nil {
			return nil, []error{err}
		}
	}
	shape, err := c.Compile("mem:///oas31.json")
	if err != nil {
		return nil, []error{err}
	}
	if err := shape.Validate(doc); err != nil {
		fail(err)
	}
	// Every schema, wherever it stands.
	each(doc, "", func(pointer string) {
		if _, err := c.Compile(docURL + "#" + pointer); err != nil {
			fail(err)
		}
	})
	var head struct {
		Paths map[string]map[string]json.RawMessage
	}
	if err := json.Unmarshal(raw, &head); err != nil {
		return nil, append(faults, err)
	}
	k := &contract{c, map[string]map[string]operation{}}
	for path, ops := range head.Paths {
		k.paths[path] = map[string]operation{}
		for method, x := range ops {
			var op operation
			if err := json.Unmarshal(x, &op); err != nil {
				fail(fmt.Errorf("%s %s: %w", method, path, err))
			}
			k.paths[path][method] = op
			for _, name := range names(path) {
				if !slices.ContainsFunc(op.Parameters, func(p parameter) bool { return p.In == "path" && p.Name == name && p.Required }) {
					fail(fmt.Errorf("%s %s: {%s} is no required parameter", method, path, name))
				}
			}
		}
	}
	return k, faults
}

// each calls do with the pointer of everything under the keys "schema" and of every named schema.
func each(v any, at string, do func(pointer string)) {
	switch x := v.(type) {
	case map[string]any:
		for key, y := range x {
			here := at + "/" + pointer(key)
			if _, isMap := y.(map[string]any); isMap && (key == "schema" && !strings.HasSuffix(at, "/properties") || at == "/components/schemas") {
				do(here)
				continue
			}
			each(y, here, do)
		}
	case []any:
		for i, y := range x {
			each(y, at+"/"+strconv.Itoa(i), do)
		}
	}
}

// pointer writes one key of a JSON pointer as it stands in a URL's fragment.
func pointer(key string) string {
	return url.PathEscape(strings.NewReplacer("~", "~0", "/", "~1").Replace(key))
}

// names are the parameters of a path.
func names(path string) []string {
	var out []string
	for _, part := range strings.Split(path, "/") {
		if strings.HasPrefix(part, "{") {
			out = append(out, strings.Trim(part, "{}"))
		}
	}
	return out
}

// find returns the path of the document that a request asks, the one with the fewest parameters first.
func (k *contract) find(path string) (string, map[string]string) {
	best, values := "", map[string]string(nil)
	asked := strings.Split(path, "/")
	for known := range k.paths {
		parts := strings.Split(known, "/")
		if len(parts) != len(asked) || best != "" && len(names(known)) >= len(names(best)) {
			continue
		}
		got, ok := map[string]string{}, true
		for i, p := range parts {
			switch {
			case strings.HasPrefix(p, "{"):
				got[strings.Trim(p, "{}")] = asked[i]
			case p != asked[i]:
				ok = false
			}
		}
		if ok {
			best, values = known, got
		}
	}
	return best, values
}

// hold returns what of an exchange is not as the document says.
func (k *contract) hold(r *http.Request, body []byte, w *httptest.ResponseRecorder) []error {
	var faults []error
	fail := func(format string, args ...any) { faults = append(faults, fmt.Errorf(format, args...)) }
	path, values := k.find(r.URL.Path)
	method := strings.ToLower(r.Method)
	op, ok := k.paths[path][method]
	if !ok {
		return []error{fmt.Errorf("the document has no such path or method")}
	}
	base := docURL + "#/paths/" + pointer(path) + "/" + method
	check := func(what, at string, v any) {
		s, err := k.c.Compile(base + at)
		if err == nil {
			err = s.Validate(v)
		}
		if err != nil {
			fail("%s: %w", what, err)
		}
	}
	query := r.URL.Query()
	for i, p := range op.Parameters {
		var texts []string
		switch p.In {
		case "path":
			if v, ok := values[p.Name]; ok {
				texts = []string{v}
			}
		case "query":
			texts = query[p.Name]
			query.Del(p.Name)
		case "header":
			texts = r.Header.Values(p.Name)
		}
		if len(texts) == 0 && p.Required && w.Code < 400 {
			fail("parameter %s is required and was not sent, yet the request was taken", p.Name)
		}
		if w.Code < 400 && len(texts) > 0 { // a request that was refused may well break the document
			check("parameter "+p.Name, fmt.Sprintf("/parameters/%d/schema", i), typed(p.Schema, texts))
		}
	}
	for name := range query {
		if w.Code < 400 {
			fail("parameter %s is not in the document", name)
		}
	}
	jsonOf := func(what string, raw []byte) (any, bool) {
		v, err := jsonschema.UnmarshalJSON(bytes.NewReader(raw))
		if err != nil {
			fail("%s is not JSON: %w", what, err)
		}
		return v, err == nil
	}
	if w.Code < 400 && (op.RequestBody != nil || len(body) > 0) {
		kind := r.Header.Get("Content-Type")
		switch {
		case op.RequestBody == nil:
			fail("a body was taken, and the document has none")
		case len(body) == 0 && op.RequestBody.Required:
			fail("a body is required and was not sent, yet the request was taken")
		case len(body) > 0:
			if _, ok := op.RequestBody.Content[kind]; !ok {
				fail("a body of type %q is not in the document", kind)
			} else if !strings.HasSuffix(kind, "json") {
				// a file: its schema says no more than that it is one
			} else if v, ok := jsonOf("the request", body); ok {
				check("the request", "/requestBody/content/"+pointer(kind)+"/schema", v)
			}
		}
	}
	status := strconv.Itoa(w.Code)
	reply, ok := op.Responses[status]
	for _, wide := range []string{status[:1] + "XX", "default"} {
		if !ok {
			status = wide
			reply, ok = op.Responses[wide]
		}
	}
	if !ok {
		fail("status %d is not in the document", w.Code)
		return faults
	}
	at := "/responses/" + pointer(status)
	kind, _, _ := strings.Cut(w.Header().Get("Content-Type"), ";")
	content, ok := reply.Content[kind]
	switch {
	case w.Body.Len() == 0 && len(reply.Content) == 0:
	case !ok:
		fail("a reply of type %q to status %d is not in the document", kind, w.Code)
	case strings.HasSuffix(kind, "json") && content.Schema != nil:
		if v, ok := jsonOf("the reply", w.Body.Bytes()); ok {
			check("the reply", at+"/content/"+pointer(kind)+"/schema", v)
		}
	}
	for name, h := range reply.Headers {
		if texts := w.Header().Values(name); len(texts) > 0 && h.Schema != nil {
			check("header "+name, at+"/headers/"+pointer(name)+"/schema", typed(h.Schema, texts))
		}
	}
	return faults
}

// typed gives a parameter's text the type its schema names.
func typed(schema json.RawMessage, texts []string) any {
	var s struct {
		Type  any
		Items json.RawMessage
	}
	_ = json.Unmarshal(schema, &s) // a schema without a type, or with several, takes the text as it is
	one := func(kind any, text string) any {
		switch kind {
		case "integer", "number":
			if _, err := strconv.ParseFloat(text, 64); err == nil {
				return json.Number(text)
			}
		case "boolean":
			if b, err := strconv.ParseBool(text); err == nil {
				return b
			}
		}
		return text
	}
	if s.Type != "array" {
		return one(s.Type, texts[0])
	}
	var items struct{ Type any }
	_ = json.Unmarshal(s.Items, &items)
	out := []any{}
	for _, t := range texts {
		for _, part := range strings.Split(t, ",") {
			out = append(out, one(items.Type, part))
		}
	}
	return out
}

// The checks themselves must be able to fail.
func TestContractFinds(t *testing.T) {
	const doc = `{"openapi": "3.1.0", "info": {"title": "t", "version": "1"}, "components": {"schemas": {"N": {"type": "object", "required": ["n"], "properties": {"n": {"type": "integer"}}, "additionalProperties": false}}},
	"paths": {"/a/{id}": {"post": {"parameters": [{"name": "id", "in": "path", "required": true, "schema": {"type": "integer"}}, {"name": "q", "in": "query", "schema": {"enum": ["x"]}}],
		"requestBody": {"required": true, "content": {"application/json": {"schema": {"$ref": "#/components/schemas/N"}}}},
		"responses": {"200": {"description": "d", "headers": {"N": {"schema": {"type": "integer"}}}, "content": {"application/json": {"schema": {"$ref": "#/components/schemas/N"}}}}}}}, "/a/b": {"get": {"responses": {"204": {"description": "d"}}}}}}`
	k, faults := newContract([]byte(doc))
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	for _, c := range []struct {
		name, method, path, body, kind, reply, header string
		status, faults                                int
	}{
		{"as documented", "POST", "/a/1?q=x", `{"n": 1}`, "application/json", `{"n": 2}`, "3", 200, 0},
		{"fewest parameters", "GET", "/a/b", "", "", "", "", 204, 0},
		{"no such path", "POST", "/c", "", "", "", "", 200, 1},
		{"no such method", "GET", "/a/1", "", "", "", "", 200, 1},
		{"path parameter", "POST", "/a/x", `{"n": 1}`, "application/json", `{"n": 2}`, "", 200, 1},
		{"query value", "POST", "/a/1?q=y", `{"n": 1}`, "application/json", `{"n": 2}`, "", 200, 1},
		{"query name", "POST", "/a/1?z=y", `{"n": 1}`, "application/json", `{"n": 2}`, "", 200, 1},
		{"no body", "POST", "/a/1", "", "application/json", `{"n": 2}`, "", 200, 1},
		{"body", "POST", "/a/1", `{"n": "1"}`, "application/json", `{"n": 2}`, "", 200, 1},
		{"reply", "POST", "/a/1", `{"n": 1}`, "application/json", `{"n": 2, "m": 3}`, "", 200, 1},
		{"reply lacks", "POST", "/a/1", `{"n": 1}`, "application/json", `{}`, "", 200, 1},
		{"reply's type", "POST", "/a/1", `{"n": 1}`, "text/html", `{"n": 2}`, "", 200, 1},
		{"header", "POST", "/a/1", `{"n": 1}`, "application/json", `{"n": 2}`, "many", 200, 1},
		{"status", "POST", "/a/1", `{"n": 1}`, "application/json", `{"n": 2}`, "", 418, 1},
	} {
		r := httptest.NewRequest(c.method, c.path, strings.NewReader(c.body))
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		w.Code = c.status
		w.Body.WriteString(c.reply)
		if c.kind != "" {
			w.Header().Set("Content-Type", c.kind)
		}
		if c.header != "" {
			w.Header().Set("N", c.header)
		}
		if got := k.hold(r, []byte(c.body), w); len(got) != c.faults {
			t.Errorf("%s: %v", c.name, got)
		}
	}
	for name, change := range map[string][2]string{
		"not OpenAPI":        {`"info": {"title": "t", "version": "1"}, `, ""},
		"unknown key":        {`"paths"`, `"roads": {}, "paths"`},
		"no schema":          {`"type": "integer"}}, "additional`, `"type": "whole"}}, "additional`},
		"a dangling ref":     {`"$ref": "#/components/schemas/N"`, `"$ref": "#/components/schemas/M"`},
		"parameter unlisted": {`"name": "id", "in": "path", "required": true`, `"name": "id", "in": "header"`},
	} {
		if _, faults := newContract([]byte(strings.ReplaceAll(doc, change[0], change[1]))); len(faults) == 0 {
			t.Errorf("%s: nothing was found", name)
		}
	}
}
