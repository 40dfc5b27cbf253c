package web

import (
	"net/http"
	"reflect"
	"slices"
	"strings"
)

// operation is what the document says of a route.
type operation struct {
	line     string
	in, out  reflect.Type // of the bodies; nil: none, or one of its own kind
	conflict bool         // it may meet a stale revision
}

// operations are those of the API by pattern, commands left out.
var operations = map[string]operation{
	"GET /api/openapi.json": {line: "this document"},
	"GET /api/schema.json":  {line: "the JSON Schema of a build file"},
	"GET /api/builds": {line: "the shelf", out: reflect.TypeFor[struct {
		Builds []buildJSON `json:"builds"`
	}]()},
	"POST /api/builds":         {line: "put a build on the shelf: name and text", in: reflect.TypeFor[saveJSON](), out: reflect.TypeFor[revisionJSON]()},
	"GET /api/builds/{build}":  {line: "a build's current revision, or with ?at= that of a number or tag", out: reflect.TypeFor[revisionJSON]()},
	"POST /api/builds/{build}": {line: "save a text as the next revision: base and text", in: reflect.TypeFor[saveJSON](), out: reflect.TypeFor[revisionJSON](), conflict: true},
	"GET /api/builds/{build}/revisions": {line: "the revisions, without their texts", out: reflect.TypeFor[struct {
		Revisions []revisionJSON `json:"revisions"`
	}]()},
	"POST /api/builds/{build}/try":    {line: "the roof redrawn with changes, saved when asked", in: reflect.TypeFor[tryJSON](), out: reflect.TypeFor[planJSON](), conflict: true},
	"POST /api/builds/{build}/course": {line: "the sun over the roof through a clear day of a stay, with changes", in: reflect.TypeFor[tryJSON](), out: reflect.TypeFor[courseJSON]()},
	"POST /api/builds/{build}/energy": {line: "what a clear day of a stay offers at the battery, with changes", in: reflect.TypeFor[tryJSON](), out: reflect.TypeFor[energyJSON]()},
	"GET /api/builds/{build}/search": {line: "how far the searches of layouts and types are", out: reflect.TypeFor[struct {
		Searches []searchJSON `json:"searches"`
	}]()},
	"GET /api/builds/{build}/verdict": {line: "what the readings typed so far prove", out: reflect.TypeFor[verdictJSON]()},
	"POST /api/builds/{build}/cells":  {line: "the light of each cell over a clear day of a stay, the trip or a year, with changes", in: reflect.TypeFor[tryJSON](), out: reflect.TypeFor[cellsJSON]()},
	"POST /api/builds/{build}/solid":  {line: "the vehicle in three dimensions as it stands in a stay, with changes", in: reflect.TypeFor[tryJSON](), out: reflect.TypeFor[solidJSON]()},
	"POST /api/problems": {line: "the problems of a text", in: reflect.TypeFor[saveJSON](), out: reflect.TypeFor[struct {
		Problems []problemView `json:"problems"`
	}]()},
}

// object is a JSON object of the document.
type object = map[string]any

// apiDocument is the OpenAPI document of the routes.
func (s *Server) apiDocument(*http.Request) (*reply, error) { return jsonReply(s.document()) }

func (s *Server) document() object {
	schemas := object{"error": schemaOf(reflect.TypeFor[errorJSON]()), "conflict": schemaOf(reflect.TypeFor[conflictJSON]())}
	paths := object{}
	for _, rt := range s.apiTable() {
		method, path, _ := strings.Cut(rt.pattern, " ")
		op, known := operations[rt.pattern]
		if name, ok := strings.CutPrefix(path, "/api/commands/"); ok {
			op, known = commandOperation(name, schemas), true
		}
		if !known {
			panic("web: no description of " + rt.pattern)
		}
		item, _ := paths[path].(object)
		if item == nil {
			item = object{}
			paths[path] = item
		}
		item[strings.ToLower(method)] = op.describe(strings.ToLower(method), path, schemas)
	}
	return object{
		"openapi":    "3.1.0",
		"info":       object{"title": "Noonmark", "version": s.config.Version, "description": "Units stand in the names of fields: _W, _Wh, _V, _A, _m, _mm2, _degC, _deg. Fractions are 0 to 1."},
		"paths":      paths,
		"components": object{"schemas": schemas},
	}
}

// commandOperation describes a command.
func commandOperation(name string, schemas object) operation {
	at := slices.IndexFunc(commands, func(c commandSpec) bool { return c.Name == name })
	c := commands[at]
	flags, args := object{}, object{}
	for _, f := range c.Flags {
		flags[f] = object{"type": []string{"string", "number", "boolean"}}
	}
	in := object{"flags": object{"type": "object", "properties": flags, "additionalProperties": false}}
	if len(c.Args) > 0 {
		for _, a := range c.Args {
			args[a] = object{"type": "string"}
		}
		in["args"] = object{"type": "object", "properties": args, "required": c.Args, "additionalProperties": false}
	}
	if takes, _ := c.takes("readings"); takes {
		in["readings"] = object{"type": "string", "description": "the text of readings, as the command's file of them"}
	}
	if takes, _ := c.takes("other"); takes {
		in["other"] = object{"type": "string", "description": "the text of the build file to compare with"}
	}
	if takes, _ := c.takes("build"); takes {
		in["build"] = object{"type": "string", "description": "the text of a build file"}
		in["store"] = object{"type": "string", "description": "or the name of a build on the shelf"}
	}
	schemas["command-"+name] = object{"type": "object", "properties": in, "additionalProperties": false}
	schemas["answer-"+name] = object{"type": "object", "required": []string{c.Key}, "description": "as noonmark " + name + " --json prints it"}
	return operation{line: c.Line}
}

// describe returns an operation of the document.
func (op operation) describe(method, path string, schemas object) object {
	body := func(ref string) object {
		return object{"application/json": object{"schema": object{"$ref": "#/components/schemas/" + ref}}}
	}
	name := method + "-" + strings.Trim(strings.NewReplacer("/api/", "", "/", "-", "{", "", "}", "", ".json", "").Replace(path), "-")
	out := object{"summary": op.line}
	ok := object{"description": "done"}
	if command, is := strings.CutPrefix(path, "/api/commands/"); is {
		out["requestBody"] = object{"required": true, "content": body("command-" + command)}
		ok["content"] = body("answer-" + command)
	}
	if op.in != nil {
		schemas[name+"-in"] = schemaOf(op.in)
		out["requestBody"] = object{"required": true, "content": body(name + "-in")}
	}
	if op.out != nil {
		schemas[name+"-out"] = schemaOf(op.out)
		ok["content"] = body(name + "-out")
	}
	answers := object{"200": ok, "default": object{"description": "refused or failed", "content": body("error")}}
	if op.conflict {
		answers["409"] = object{"description": "the revision it was made from is no longer the current one; nothing was saved", "content": body("conflict")}
	}
	out["responses"] = answers
	if strings.Contains(path, "{build}") {
		out["parameters"] = []object{{"name": "build", "in": "path", "required": true, "schema": object{"type": "string"}}}
	}
	return out
}

// schemaOf returns the JSON Schema of what encoding/json writes for a type.
func schemaOf(t reflect.Type) object {
	switch t.Kind() {
	case reflect.Pointer:
		inner := schemaOf(t.Elem())
		if kind, ok := inner["type"].(string); ok {
			inner["type"] = []string{kind, "null"}
		}
		return inner
	case reflect.String:
		return object{"type": "string"}
	case reflect.Bool:
		return object{"type": "boolean"}
	case reflect.Float64:
		return object{"type": "number"}
	case reflect.Int, reflect.Int64:
		return object{"type": "integer"}
	case reflect.Slice:
		return object{"type": []string{"array", "null"}, "items": schemaOf(t.Elem())}
	case reflect.Array:
		return object{"type": "array", "items": schemaOf(t.Elem())}
	case reflect.Struct:
		fields, required := object{}, []string{}
		for i := range t.NumField() {
			name, rest, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
			if name == "" || name == "-" {
				continue
			}
			fields[name] = schemaOf(t.Field(i).Type)
			if rest != "omitempty" && (strings.HasSuffix(t.Name(), "JSON") && t.Name() != "tryJSON" && t.Name() != "saveJSON") {
				required = append(required, name)
			}
		}
		return object{"type": "object", "properties": fields, "required": required, "additionalProperties": false}
	}
	panic("web: no schema of " + t.String())
}
