package rows_test

import (
	"bytes"
	"encoding/json"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"feedline/cmd/internal/console/rows"
)

// TestSchemaIsDocumented: SCHEMA.md lists the fields of every table of every screen, and no others; CURRENCY stands for the plant's.
func TestSchemaIsDocumented(t *testing.T) {
	text, err := os.ReadFile("../../report/SCHEMA.md")
	if err != nil {
		t.Fatal(err)
	}
	_, section, ok := strings.Cut(string(text), "## "+rows.Schema+"\n")
	if !ok {
		t.Fatalf("SCHEMA.md has no section %s", rows.Schema)
	}
	section, _, _ = strings.Cut(section, "\n## ")
	var documented []string
	for _, m := range regexp.MustCompile("(?m)^\\| `([^`]+)`").FindAllStringSubmatch(section, -1) {
		documented = append(documented, m[1])
	}
	_, _, f := facts()
	written := []string{"schema", "screen", "plant", "plan_made", "lead[]"}
	for _, s := range rows.Screens {
		p := s.Page(f, rows.Place{})
		var b bytes.Buffer
		var d struct{ Tables map[string]any }
		if err := p.JSON(&b, f); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(b.Bytes(), &d); err != nil {
			t.Fatal(err)
		}
		for name := range d.Tables {
			for _, c := range table(t, p, name).Columns {
				if !c.Drawn {
					written = append(written, s.Name+": "+name+"[]."+strings.ReplaceAll(c.Key, f.In.Plant.Currency, "CURRENCY"))
				}
			}
		}
	}
	slices.Sort(documented)
	slices.Sort(written)
	if d := cmp.Diff(documented, written); d != "" {
		t.Errorf("documented and written fields differ (-documented +written):\n%s", d)
	}
}
