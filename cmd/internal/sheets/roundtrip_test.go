package sheets

import (
	"math"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"feedline/cmd/internal/demo"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

var start = calendar.Date(2027, 1, 4)

// equal compares inputs: nil and empty tables alike, zones by name, instants as instants.
var equal = cmp.Options{
	cmpopts.EquateEmpty(),
	cmp.Comparer(func(a, b *time.Location) bool { return a == b || a != nil && b != nil && a.String() == b.String() }),
	cmp.Comparer(func(a, b time.Time) bool { return a.Equal(b) }),
}

var systems = map[string]quantity.System{"metric": quantity.Metric, "us": quantity.US}

func TestExportThenImportChangesNothing(t *testing.T) {
	in := demo.Input(start)
	for units, sys := range systems {
		for _, name := range []string{"folder", "book.xlsx"} {
			t.Run(units+" "+name, func(t *testing.T) {
				dst := filepath.Join(t.TempDir(), name)
				if err := Write(dst, in, WriteOptions{Units: sys}); err != nil {
					t.Fatal(err)
				}
				for _, base := range []*planner.Input{nil, {}, in} {
					got, sum, err := Read(dst, base, ReadOptions{Today: start, Replace: base == in})
					if err != nil {
						t.Fatal(err)
					}
					if d := cmp.Diff(in, got, equal); d != "" {
						t.Errorf("what was read is not what was written (-want +got):\n%s", d)
					}
					if base == in && sum.String() != "nothing changes" {
						t.Errorf("summary %q, want nothing changes", sum)
					}
				}
			})
		}
	}
}

// TestAnyRecordSurvives writes and reads records of any content that cells can hold: texts that look like formulas,
// remarks or escapes, numbers of any size and precision, days, clocks and instants in a zone with clock changes.
func TestAnyRecordSurvives(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	p := place{cal: calendar.Calendar{Zone: zone}, currency: "EUR"}
	rapid.Check(t, func(t *rapid.T) {
		tb := &tables[rapid.IntRange(0, len(tables)-1).Draw(t, "table")]
		us := rapid.Bool().Draw(t, "us")
		in := &planner.Input{Calendar: p.cal}
		in.Plant.Currency = p.currency
		record := reflect.New(tb.record()).Elem()
		for i := range tb.columns {
			tb.columns[i].draw(t, record, zone)
		}
		if tb.sideways {
			tb.records(in).Set(record)
			p.currency = in.Plant.Currency
		} else {
			tb.records(in).Set(reflect.Append(tb.records(in), record))
		}
		page := tb.page(in, us)
		for _, g := range []*grid{throughCSV(t, page), throughXLSX(t, page)} {
			var bad badList
			d := decode(tb, g, p, &bad)
			if !bad.none() {
				t.Fatalf("%+v\ncan't be read back: %v", record.Interface(), bad.cells)
			}
			if len(d.rows) != 1 {
				t.Fatalf("%d rows read, want 1", len(d.rows))
			}
			if diff := cmp.Diff(record.Interface(), d.rows[0].record.Interface(), equal); diff != "" {
				t.Fatalf("changed on the way (-want +got):\n%s", diff)
			}
		}
	})
}

func throughCSV(t interface{ Fatal(...any) }, p page) *grid {
	g, _, bad := readCSV(p.table.name+".csv", p.csv())
	if bad != nil {
		t.Fatal(bad)
	}
	return g
}

func throughXLSX(t interface{ Fatal(...any) }, p page) *grid {
	data, err := workbook([]page{p})
	if err != nil {
		t.Fatal(err)
	}
	u, err := unpack("book.xlsx", data)
	if err != nil {
		t.Fatal(err)
	}
	if len(u.bad) > 0 || len(u.grids) != 1 {
		t.Fatal(u.bad, len(u.grids))
	}
	return u.grids[0]
}

// draw fills the field of c with something that a cell can hold.
func (c *column) draw(t *rapid.T, record reflect.Value, zone *time.Location) {
	field, name := c.at(record), c.field
	switch c.kind {
	case kindCode, kindText:
		s := rapid.StringMatching(`[-=+@#' a-zéß".,;0-9\n]{0,8}`).Draw(t, name)
		if c.kind == kindCode {
			s = strings.ReplaceAll(s, "\n", "")
		}
		if c.needed && strings.TrimSpace(s) == "" || name == "Currency" && record.Type() == reflect.TypeFor[planner.Plant]() {
			s = "EUR"
		}
		if strings.TrimSpace(s) == "" {
			s = ""
		}
		field.SetString(s)
	case kindWord:
		i := rapid.IntRange(0, len(c.words)-1).Draw(t, name)
		if c.stored == nil {
			field.SetString(c.words[i])
		} else {
			field.Set(reflect.ValueOf(c.stored[i]))
		}
	case kindWords:
		field.Set(reflect.ValueOf(rapid.SliceOfNDistinct(rapid.SampledFrom(c.words), 1, 3, rapid.ID).Draw(t, name)))
	case kindYesNo:
		field.SetBool(rapid.Bool().Draw(t, name))
	case kindAmount, kindNumber:
		most := 1e9
		if c.most > 0 {
			most = c.most
		}
		v := rapid.Float64Range(0, most).Draw(t, name)
		if c.above {
			v = max(v, 1e-6)
		}
		field.SetFloat(v)
	case kindWhole:
		field.SetInt(int64(rapid.IntRange(0, 9).Draw(t, name)))
	case kindDay, kindLastDay:
		field.SetInt(int64(rapid.IntRange(int(firstDay)+1, int(lastDay)-1).Draw(t, name)))
	case kindClock:
		field.SetInt(int64(rapid.IntRange(0, 86399).Draw(t, name)) * int64(time.Second))
	case kindEndClock:
		field.SetInt(record.FieldByName("Start").Int() + int64(rapid.IntRange(1, 86400).Draw(t, name))*int64(time.Second))
	case kindMoment:
		seconds := rapid.Int64Range(int64(firstDay+1)*86400, int64(lastDay-1)*86400).Draw(t, name)
		if rapid.Bool().Draw(t, "near a clock change") {
			seconds = time.Date(2027, 10, 31, 0, 0, 0, 0, time.UTC).Unix() + seconds%7200
		}
		field.Set(reflect.ValueOf(time.Unix(seconds, 0).In(zone)))
	case kindWeekdays:
		var days [7]bool
		for i := range days {
			days[i] = rapid.Bool().Draw(t, name)
		}
		days[2] = true
		field.Set(reflect.ValueOf(days))
	}
}

// TestDigits holds numbers that need all their digits against their texts, in the unit that they are stored in and in others.
func TestDigits(t *testing.T) {
	for _, v := range []float64{0.1, 0.30000000000000004, 1.0 / 3, math.Nextafter(1, 2), 123456789.12345678, 5e-324, 2e9} {
		for _, k := range []quantity.Kind{quantity.KindMass, quantity.KindLinearDensity, quantity.KindMassPrice, quantity.KindShare} {
			for _, sys := range systems {
				u := (&column{kind: kindAmount, amount: k}).unit(sys == quantity.US)
				if k == quantity.KindShare && v > 1 {
					v = 1
				}
				s := amountText(k, v, u)
				if back, f := readAmount(k, s, u, ""); f != nil || back != v {
					t.Errorf("%v %v in %q written as %q, read as %v %v", v, k, u.symbol, s, back, f)
				}
			}
		}
		for _, labels := range [][]label{screwUnits, rackUnits, energyUnits} {
			u := unit{labels[1].symbol, &labels[1]}
			s := numberText(v, u)
			if back, f := readNumber(s, u); f != nil || back != v {
				t.Errorf("%v in %q written as %q, read as %v %v", v, u.symbol, s, back, f)
			}
		}
	}
}
