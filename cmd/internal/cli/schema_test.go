package cli

import (
	"encoding/json"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"feedline/cmd/internal/watch"
	"feedline/cmd/internal/watch/alert"
)

// TestSchemasAreDocumented holds the fields of the documents that commands and the watch print against the tables of SCHEMA.md, both ways.
func TestSchemasAreDocumented(t *testing.T) {
	text, err := os.ReadFile("../report/SCHEMA.md")
	if err != nil {
		t.Fatal(err)
	}
	type alertsDoc struct {
		Schema string        `json:"schema"`
		Alerts []alert.Alert `json:"alerts"`
	}
	for schema, document := range map[string]reflect.Type{solveSchema: reflect.TypeFor[solveReport](), promiseSchema: reflect.TypeFor[promiseDocument](),
		checkSchema: reflect.TypeFor[checkReport](), alertsSchema: reflect.TypeFor[alertsDoc](), logSchema: reflect.TypeFor[logLine](),
		watch.HealthSchema: reflect.TypeFor[watch.Health]()} {
		_, section, ok := strings.Cut(string(text), "## "+schema+"\n")
		if !ok {
			t.Fatalf("SCHEMA.md has no section %s", schema)
		}
		section, _, _ = strings.Cut(section, "\n## ")
		var documented []string
		for _, m := range regexp.MustCompile("(?m)^\\| `([^`]+)`").FindAllStringSubmatch(section, -1) {
			documented = append(documented, m[1])
		}
		fields := fieldsOf(document, "")
		slices.Sort(documented)
		slices.Sort(fields)
		if d := cmp.Diff(documented, fields); d != "" {
			t.Errorf("%s: documented and written fields differ (-documented +written):\n%s", schema, d)
		}
	}
}

// fieldsOf lists the paths that a type has as JSON.
func fieldsOf(t reflect.Type, path string) (list []string) {
	switch {
	case t == reflect.TypeFor[time.Time]() || t == reflect.TypeFor[json.RawMessage]():
		return []string{path}
	case t.Kind() == reflect.Pointer:
		return fieldsOf(t.Elem(), path)
	case t.Kind() == reflect.Slice:
		return fieldsOf(t.Elem(), path+"[]")
	case t.Kind() == reflect.Map:
		return fieldsOf(t.Elem(), path+".NAME")
	case t.Kind() != reflect.Struct:
		return []string{path}
	}
	for i := range t.NumField() {
		f := t.Field(i)
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case name == "-":
		case f.Anonymous:
			list = append(list, fieldsOf(f.Type, path)...)
		case path == "":
			list = append(list, fieldsOf(f.Type, name)...)
		default:
			list = append(list, fieldsOf(f.Type, path+"."+name)...)
		}
	}
	return list
}
