package sheets

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"feedline/cmd/internal/demo"
	"feedline/inventory/quantity"
	"feedline/planner"
)

// TestEveryFieldHasAColumn finds fields of the book's records that no column fills.
func TestEveryFieldHasAColumn(t *testing.T) {
	for i := range tables {
		tb := &tables[i]
		var fields, columns []string
		leaves(tb.record(), "", &fields)
		for _, c := range tb.columns {
			columns = append(columns, c.field)
		}
		slices.Sort(fields)
		slices.Sort(columns)
		if !slices.Equal(fields, columns) {
			t.Errorf("%s: columns %v\nfields %v", tb.name, columns, fields)
		}
	}
}

func leaves(r reflect.Type, within string, list *[]string) {
	for i := range r.NumField() {
		f := r.Field(i)
		if f.Type.Kind() == reflect.Struct && strings.HasPrefix(f.Type.PkgPath(), "feedline") {
			leaves(f.Type, within+f.Name+".", list)
			continue
		}
		*list = append(*list, within+f.Name)
	}
}

// TestEveryTableOfAnInputHasASheet finds tables of an Input that there is no sheet for: a filled input written out must leave none behind.
func TestEveryTableOfAnInputHasASheet(t *testing.T) {
	in := reflect.ValueOf(demo.Input(start)).Elem()
	have := map[reflect.Type]bool{}
	for i := range tables {
		have[tables[i].record()] = true
	}
	for i := range in.NumField() {
		f := in.Type().Field(i)
		if f.Type.Kind() == reflect.Slice && !have[f.Type.Elem()] {
			t.Errorf("no sheet for %s", f.Name)
		}
	}
}

// TestColumnsAreOfTheirFields holds the quantity of each column against the type of its field.
func TestColumnsAreOfTheirFields(t *testing.T) {
	types := map[quantity.Kind]reflect.Type{
		quantity.KindMass: reflect.TypeFor[quantity.Mass](), quantity.KindLength: reflect.TypeFor[quantity.Length](),
		quantity.KindVolume: reflect.TypeFor[quantity.Volume](), quantity.KindHours: reflect.TypeFor[quantity.Hours](),
		quantity.KindMassRate: reflect.TypeFor[quantity.MassRate](), quantity.KindSpeed: reflect.TypeFor[quantity.Speed](),
		quantity.KindLinearDensity: reflect.TypeFor[quantity.LinearDensity](), quantity.KindDensity: reflect.TypeFor[quantity.Density](),
		quantity.KindMoney: reflect.TypeFor[quantity.Money](), quantity.KindMassPrice: reflect.TypeFor[quantity.MassPrice](),
		quantity.KindLengthPrice: reflect.TypeFor[quantity.LengthPrice](), quantity.KindHourPrice: reflect.TypeFor[quantity.HourPrice](),
		quantity.KindShare: reflect.TypeFor[quantity.Share](),
	}
	for i := range tables {
		tb := &tables[i]
		record := reflect.New(tb.record()).Elem()
		seen := map[string]bool{}
		for j := range tb.columns {
			c := &tb.columns[j]
			name := tb.heading(c)
			if c.kind == kindAmount && c.at(record).Type() != types[c.amount] {
				t.Errorf("%s %s: a column of %v for a field of type %v", tb.name, name, c.amount, c.at(record).Type())
			}
			if seen[name] || c.explain == "" || strings.ContainsAny(name, "[].") {
				t.Errorf("%s: heading %q is there twice, is odd or has no explanation", tb.name, name)
			}
			if n, ok := tb.column(strings.ReplaceAll(strings.ToUpper(name), " ", "_")); !ok || n != j {
				t.Errorf("%s: heading %q is not found again", tb.name, name)
			}
			if c.needed && c.example == "" {
				t.Errorf("%s %s: needed, and without an example", tb.name, name)
			}
			if c.blank != "" {
				if f := c.set(record, cell{text: c.blank}, c.unit(false), place{}); f != nil {
					t.Errorf("%s %s: what a blank stands for, %q, is refused: %v", tb.name, name, c.blank, f)
				}
			}
			seen[name] = true
		}
	}
}

// TestKeysAreThoseOfProblems holds the keys of rows against those that Check names: each table gets the demonstration's records
// twice, and the duplicates must be traced back.
func TestKeysAreThoseOfProblems(t *testing.T) {
	in := demo.Input(start)
	in.Pins = append(in.Pins, planner.Pin{Code: "P", Kind: planner.PinIdle, Line: "L1", From: start, To: start + 1})
	want := map[string]string{}
	for i := range tables {
		tb := &tables[i]
		if list := tb.records(in); !tb.sideways && list.Len() > 0 {
			want[tb.name] = tb.key(list.Index(0))
			list.Set(reflect.Append(list, list.Index(0)))
		}
	}
	for _, p := range in.Check(start) {
		if p.Allowed == "each key once" && want[p.Table] == p.Key {
			delete(want, p.Table)
		}
	}
	if len(want) > 0 {
		t.Errorf("not found to be there twice: %v", want)
	}
}

// TestDescribe looks for a line of every column in the documentation.
func TestDescribe(t *testing.T) {
	var b strings.Builder
	if err := Describe(&b, quantity.Metric); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"## lanes\n\nWays to buy: supplier, material and route.\n",
		"| load [kg] | a number, more than 0 | no | mass of one whole load | 22000 |\n",
		"| grade (key) | a text | no | code of a grade | WHITE |\n",
		"| max share | a number, 0 to 1 | 1 | largest share of the feed; blank is 1 | 0.8 |\n",
		"| last day | a day, YYYY-MM-DD | yes | last day that orders can be placed |  |\n",
	} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("no line %q", want)
		}
	}
}

func TestGuardedTexts(t *testing.T) {
	for text, want := range map[string]string{
		"=1+2": "'=1+2", "+1": "'+1", "-1": "'-1", "@x": "'@x", "#1": "'#1", " x": "' x", "'=x": "''=x",
		"'t Hof": "'t Hof", "a=b": "a=b", "": "", "'": "'",
	} {
		if got := guarded(text); got != want {
			t.Errorf("%q is written as %q, want %q", text, got, want)
		}
		if back := unguarded(want); back != text {
			t.Errorf("%q is read as %q, want %q", want, back, text)
		}
	}
}
