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

// TestSolveSchemaIsDocumented holds the fields of the document that solve prints against the table of SCHEMA.md, both ways.
func TestSolveSchemaIsDocumented(t *testing.T) {
	text, err := os.ReadFile("../report/SCHEMA.md")
	if err != nil {
		t.Fatal(err)
	}
	_, section, ok := strings.Cut(string(text), "## "+solveSchema+"\n")
	if !ok {
		t.Fatalf("SCHEMA.md has no section %s", solveSchema)
	}
	section, _, _ = strings.Cut(section, "\n## ")
	var documented []string
	for _, m := range regexp.MustCompile("(?m)^\\| `([^`]+)`").FindAllStringSubmatch(section, -1) {
		documented = append(documented, m[1])
	}
	fields := fieldsOf(reflect.TypeFor[solveReport](), "")
	slices.Sort(documented)
	slices.Sort(fields)
	if d := cmp.Diff(documented, fields); d != "" {
		t.Errorf("documented and written fields differ (-documented +written):\n%s", d)
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
