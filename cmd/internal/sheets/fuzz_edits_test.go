package sheets

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"feedline/cmd/internal/demo"
	"feedline/lines/calendar"
	"feedline/planner"
)

// FuzzEdits: no text in the place of a draft in JSON makes its reader or what applies it panic, a draft that is read is written so
// that it reads the same, and none changes the input that it is made from.
func FuzzEdits(f *testing.F) {
	draft, err := planner.EncodeEdits([]planner.Edit{planner.SetCell("lines", "L6", "state", "running"), planner.DropRow("orders", "O-4101"),
		planner.AddRow("orders", map[string]string{"code": "N-1", "profile": "SK80", "length": "4 km", "due": "2027-02-05"})})
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(draft))
	f.Add(`{"schema":"feedline.edits/1","edits":[{"op":"set","table":"plant","cells":{"crew":"1e999"}},{"op":"drop","table":"rates","key":"L1 / SK80"}]}`)
	f.Add(`{"schema":"feedline.edits/1","edits":[null,{"op":"add","table":"pins","cells":null}]}`)
	day := calendar.Date(2027, 1, 4)
	base, same := demo.Input(day), demo.Input(day)
	f.Fuzz(func(t *testing.T, text string) {
		list, err := planner.DecodeEdits([]byte(text))
		if err != nil {
			return
		}
		again, err := planner.EncodeEdits(list)
		if err != nil {
			t.Fatal(err)
		}
		got, err := planner.DecodeEdits(again)
		if d := cmp.Diff(list, got, cmpopts.EquateEmpty()); err != nil || d != "" {
			t.Fatalf("read (-), written and read again (+), %v:\n%s", err, d)
		}
		in, err := Apply(base, list...)
		if err == nil {
			in.Check(day)
		}
		if d := cmp.Diff(same.Orders, base.Orders); d != "" {
			t.Fatalf("a draft changed the input itself:\n%s", d)
		}
	})
}

// FuzzWords: no what-if as it is typed makes --if, --set, --add or --drop panic, and what its edits say of themselves can be read.
func FuzzWords(f *testing.F) {
	for _, v := range planner.EditVerbs {
		f.Add("if", v.Example)
	}
	for _, x := range [][2]string{{"set", "lines.L6.state=running"}, {"add", "orders:code=N-1,profile=SK80,length=4000 m,due=2027-02-05"},
		{"drop", "orders.O-4101"}, {"if", "down L4 2027-01-11..2027-01-09"}, {"if", "split D-1 0 kg 2027-01-11"}, {"if", "rate L1 SK80 -1e400"}, {"add", "x:=,=,"}} {
		f.Add(x[0], x[1])
	}
	day := calendar.Date(2027, 1, 4)
	base := demo.Input(day)
	f.Fuzz(func(t *testing.T, how, text string) {
		var list []planner.Edit
		var err error
		one := func(e planner.Edit, fault error) { list, err = []planner.Edit{e}, fault }
		switch how {
		case "set":
			one(planner.ParseSet(text))
		case "add":
			one(planner.ParseAdd(text))
		case "drop":
			one(planner.ParseDrop(text))
		default:
			list, err = planner.EditWords(base, base, day, text)
		}
		if err != nil {
			_ = err.Error()
			return
		}
		for _, e := range list {
			_ = e.String()
		}
		if in, err := Apply(base, list...); err == nil {
			in.Check(day)
		}
	})
}
