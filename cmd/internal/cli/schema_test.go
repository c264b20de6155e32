package cli

import (
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestSchemasAreDocumented holds the fields of the documents that solve and promise print against the tables of SCHEMA.md, both ways.
func TestSchemasAreDocumented(t *testing.T) {
	text, err := os.ReadFile("../report/SCHEMA.md")
	if err != nil {
		t.Fatal(err)
	}
	for schema, document := range map[string]reflect.Type{solveSchema: reflect.TypeFor[solveReport](), promiseSchema: reflect.TypeFor[promiseDocument]()} {
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

// fieldsOf lists the paths of a document type.
func fieldsOf(t reflect.Type, path string) []string {
	switch t.Kind() {
	case reflect.Pointer:
		return fieldsOf(t.Elem(), path)
	case reflect.Slice:
		return fieldsOf(t.Elem(), path+"[]")
	case reflect.Map:
		return fieldsOf(t.Elem(), path+".NAME")
	case reflect.Struct:
		var list []string
		for i := range t.NumField() {
			name, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
			if path != "" {
				name = path + "." + name
			}
			list = append(list, fieldsOf(t.Field(i).Type, name)...)
		}
		return list
	}
	return []string{path}
}
