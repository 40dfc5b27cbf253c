package buildfile

import (
	"encoding/json"
	"reflect"

	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// unitPattern is what a quantity's text looks like to an editor; the program's own reader says more.
const unitPattern = `^\s*[-+−]?[0-9].*\S\s*$`

// Schema returns the JSON Schema, draft 2020-12, of a build file.
func Schema() ([]byte, error) {
	s := schemaOf(reflect.TypeFor[build.Document]())
	s["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	s["title"] = "Noonmark build file"
	s["required"] = []string{"noonmark", "surfaces", "modules", "chargers", "battery", "trip"}
	return json.MarshalIndent(s, "", "  ")
}

// schemaOf returns the schema of a type of the document.
func schemaOf(t reflect.Type) map[string]any {
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch t {
	case reflect.TypeFor[string]():
		return map[string]any{"type": []string{"string", "number"}}
	case reflect.TypeFor[int]():
		return map[string]any{"type": "integer"}
	case reflect.TypeFor[float64]():
		return map[string]any{"type": "number"}
	case reflect.TypeFor[bool]():
		return map[string]any{"type": "boolean"}
	case reflect.TypeFor[quantity.Ratio]():
		return map[string]any{"anyOf": []any{map[string]any{"type": "number"}, map[string]any{"type": "string", "pattern": unitPattern}}}
	case reflect.TypeFor[build.SizeDoc](), reflect.TypeFor[build.TimeDoc]():
		return map[string]any{"type": "string"}
	case reflect.TypeFor[build.HoursDoc]():
		return map[string]any{"type": []string{"string", "array"}}
	case reflect.TypeFor[build.PointDoc](), reflect.TypeFor[build.SkyPointDoc]():
		return map[string]any{"type": []string{"array", "string"}, "minItems": 2, "maxItems": 2, "items": map[string]any{"type": "string"}}
	}
	if _, quantityText := readers[t]; quantityText {
		return map[string]any{"type": "string", "pattern": unitPattern}
	}
	if t.Kind() == reflect.Slice {
		e := t.Elem()
		if e.Kind() == reflect.Struct && e.NumField() > 0 && e.Field(0).Tag.Get("file") == "-" {
			return map[string]any{"type": "object", "additionalProperties": schemaOf(e)}
		}
		return map[string]any{"type": "array", "items": schemaOf(e)}
	}
	return tableSchema(t)
}

// tableSchema returns the schema of a struct, with its short form where it has one.
func tableSchema(t reflect.Type) map[string]any {
	properties := map[string]any{}
	var short map[string]any
	for _, f := range fieldsOf(t) {
		if f.named {
			continue
		}
		p := schemaOf(t.Field(f.index).Type)
		p["description"] = f.doc
		if f.example != "" {
			p["examples"] = []string{f.example}
		}
		properties[f.name] = p
		if f.short {
			short = schemaOf(t.Field(f.index).Type)
		}
	}
	table := map[string]any{"type": "object", "properties": properties, "additionalProperties": false}
	if short != nil {
		return map[string]any{"anyOf": []any{short, table}}
	}
	return table
}
