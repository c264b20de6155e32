package records

import (
	"fmt"
	"strings"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// twin is what a second entry of the same thing says too: the day, what was worked on, and how much came of it to the gram and the millimetre.
type twin struct {
	kind   Kind
	day    calendar.Day
	of     string
	amount int64
}

// once is a record that was booked: its code, and whether that is a number that its writer gave it.
type once struct {
	code     string
	numbered bool
}

// twinOf is what tells a record from others, with the field of its amount and the words for what else is equal; false for a kind that
// says the same a second time without harm.
func twinOf(r Record) (t twin, field, amount, equal string, ok bool) {
	h := r.Head()
	t = twin{kind: h.Kind, day: h.Day}
	long := func(x quantity.Length) string { return x.Format(quantity.Metric, 1) }
	switch x := r.(type) {
	case Run:
		t.of, t.amount = strings.Join([]string{x.Line, x.Profile, x.Shift}, "\x00"), Millis(x.Good)
		if t.amount == 0 {
			t.of += fmt.Sprint("\x00", x.Run, x.SetUp, x.DownHours())
		}
		return t, "Good", long(x.Good), "line, profile and shift", true
	case Process:
		t.of, t.amount = fmt.Sprint(x.Step, "\x00", x.Grade, "\x00", x.Shift, "\x00", x.Lots, x.Regrind), Grams(x.Out)
		return t, "Out", kg(t.amount), "step, lots, grade and shift", true
	case Receipt:
		t.of, t.amount = strings.Join([]string{x.Delivery, x.Lane, x.Supplier, x.Material}, "\x00"), x.NetGrams()
		return t, "Net", kg(t.amount), "supplier, material and delivery", true
	case Shipment:
		t.of, t.amount = x.Order+"\x00"+x.Profile, Millis(x.Length)
		return t, "Length", long(x.Length), "order and profile", true
	}
	return t, "", "", "", false
}

// Seen remembers a record as Post returned it, or one of before that stands, and says of which that is there it is most likely a second
// entry, with a warning. Numbered is whether its writer gave it a number: two records that both have one are two.
func (l *Ledger) Seen(r Record, numbered bool) (warning []planner.Problem) {
	t, field, amount, equal, ok := twinOf(r)
	if !ok {
		return nil
	}
	h := r.Head()
	if before, twice := l.seen[t]; twice && !(numbered && before.numbered) {
		table := TableOf(h.Kind)
		warning = []planner.Problem{{Table: table, Key: h.Code, Field: planner.FieldName(table, field), Value: amount, Warning: true,
			Allowed: fmt.Sprintf("as a rule other than in %s, of the same day, %s", before.code, equal),
			Remedy:  "if it was entered twice, reverse one of the two; else give each a number of its own"}}
	}
	l.seen[t] = once{h.Code, numbered}
	return warning
}
