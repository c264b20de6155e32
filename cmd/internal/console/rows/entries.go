package rows

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/records"
)

// shipmentTable is the orders that may leave: due within three days or late, the first due first.
func (f *Facts) shipmentTable() *Table {
	t := &Table{Name: "shipments", Title: "To ship", None: "no order is due in the next three days", Columns: []Column{
		{Key: "order", Head: "Order", Left: true}, {Key: "customer", Head: "customer", Left: true, Rank: 2, Flex: true}, {Key: "profile", Head: "profile", Left: true},
		{Key: "open_" + f.m.metre(), Head: "open " + f.m.metre()}, {Key: "rack_" + f.m.metre(), Head: "rack " + f.m.metre(), Rank: 1}, {Key: "due", Head: "due"}}}
	for _, o := range f.Open() {
		if o.Due > f.today+3 {
			break
		}
		due := f.m.day(o.Due)
		if o.Due < f.today {
			due.Text, due.Tone = "! "+due.Text, Alert
		}
		t.add(o.Code, word(o.Code), word(o.Customer), word(o.Profile), f.m.length(o.Length), f.m.length(f.Rack(o.Profile)), due)
	}
	return t
}

// Open is the orders of which something is to be delivered, the first due first.
func (f *Facts) Open() (list []planner.Order) {
	for _, o := range f.In.Orders {
		if o.Length > 0 {
			list = append(list, o)
		}
	}
	slices.SortStableFunc(list, func(a, b planner.Order) int { return int(a.Due) - int(b.Due) })
	return list
}

// Rack is what the book has of a profile.
func (f *Facts) Rack(profile string) (sum quantity.Length) {
	for _, s := range f.In.Stock {
		if s.Kind == inventory.ProfileStock && s.Code == profile {
			sum += s.Length
		}
	}
	return sum
}

// entryTable is what was recorded lately, the last first.
func (f *Facts) entryTable() *Table {
	t := &Table{Name: "entries", Title: "Recorded lately", None: "nothing was recorded in the last two weeks", Columns: []Column{
		{Key: "entry", Head: "Entry"}, {Key: "day", Head: "day"}, {Key: "kind", Head: "kind", Left: true}, {Key: "what", Head: "what", Left: true},
		{Key: "by", Head: "by", Left: true, Rank: 1, Flex: true}, {Key: "entered_at", Head: "entered", Left: true, Rank: 2},
		{Key: "results", Head: "results", Left: true, Rank: 3, Flex: true}, {Key: "note", Head: "note", Left: true, Rank: 4, Flex: true}}}
	for _, e := range slices.Backward(f.Known.Entries) {
		if !e.Counts() {
			continue
		}
		at := Cell{Text: e.At.In(f.zone()).Format("2 Jan 15:04"), Value: stamp(e.At)}
		t.add(fmt.Sprint(e.ID), count(int(e.ID)), f.m.day(e.Head.Day), word(string(e.Head.Kind)), word(f.entryWhat(e.Record)), word(e.Who), at, word(entryResults(e.Record)), word(e.Head.Note))
	}
	return t
}

// EntryWords says what a record says in a few words.
func (f *Facts) EntryWords(r records.Record) string {
	return phrase(f.entryWhat(r), entryResults(r))
}

// entryResults is results of a lot and what is decided over it.
func entryResults(r records.Record) string {
	switch r := r.(type) {
	case records.Receipt:
		return lotWords(r.Results(), r.Decision, r.Reason)
	case records.Test:
		return lotWords(r.Results(), r.Decision, r.Reason)
	}
	return ""
}

func lotWords(r inventory.Results, d records.Decision, reason string) string {
	text, said := Results(r), string(d)+orNothing(": ", reason)
	if text == "" || said == "" {
		return text + said
	}
	return text + ", " + said
}

func (f *Facts) entryWhat(r records.Record) string {
	kg := func(m quantity.Mass) string { return f.m.kgs(m).Text + " " + f.m.kg() }
	metres := func(l quantity.Length) string { return f.m.length(l).Text + " " + f.m.metre() }
	switch r := r.(type) {
	case records.Receipt:
		return phrase(r.Lot, r.Material, kg(records.MassOf(r.NetGrams())))
	case records.Test:
		return r.Lot
	case records.Process:
		var lots []string
		for _, d := range r.Lots {
			lots = append(lots, d.Lot)
		}
		return phrase(r.Step, strings.Join(lots, " "), kg(records.MassOf(r.InGrams())), "→", r.Grade, kg(r.Out))
	case records.Run:
		return phrase(r.Line, r.Profile, metres(r.Good))
	case records.Count:
		if r.Counted == records.InProfile {
			return phrase(string(r.Counted), r.Item, metres(r.Length))
		}
		return phrase(string(r.Counted), r.Item, kg(r.Mass))
	case records.ETAChange:
		return phrase(r.Delivery, f.etaWords(r))
	case records.Shipment:
		return phrase(r.Order, r.Profile, metres(r.Length))
	}
	return ""
}

func (f *Facts) etaWords(r records.ETAChange) string {
	text := string(r.Status)
	if r.ETA != 0 {
		text = phrase(text, f.m.date(r.ETA))
		if r.WasETA != 0 {
			text += ", was " + f.m.date(r.WasETA)
		}
	}
	return text
}

// ETAHistory says in words which ETAs a delivery had, the newest last; "" if it never had another.
func (f *Facts) ETAHistory(list []records.Entry, delivery string) string {
	text := ""
	for _, e := range list {
		r, ok := e.Record.(records.ETAChange)
		if !ok || !e.Counts() || r.Delivery != delivery || r.ETA == 0 {
			continue
		}
		if text == "" && r.WasETA != 0 {
			text = f.m.date(r.WasETA)
		}
		text += fmt.Sprintf(" → %s (told %s%s)", f.m.date(r.ETA), f.m.date(r.Day), orNothing(": ", r.Note))
	}
	return strings.TrimPrefix(text, " ")
}

func orNothing(before, s string) string {
	if s == "" {
		return ""
	}
	return before + s
}

// LotResults is the latest results of a lot.
func LotResults(list []records.Entry, lot string) inventory.Results {
	out := inventory.Results{}
	for _, e := range list {
		var of string
		var have inventory.Results
		switch r := e.Record.(type) {
		case records.Receipt:
			of, have = r.Lot, r.Results()
		case records.Test:
			of, have = r.Lot, r.Results()
		}
		if of == lot && e.Counts() {
			for m, v := range have {
				out[m] = v
			}
		}
	}
	return out
}

// Results says results in words, in the order of the measures.
func Results(r inventory.Results) string {
	var list []string
	for _, m := range inventory.Measures {
		if v, ok := r[m]; ok {
			list = append(list, string(m)+" "+Amount(m, v))
		}
	}
	return strings.Join(list, ", ")
}

// Amount is a result with its unit.
func Amount(m inventory.Measure, v float64) string {
	if m.Unit() == "" {
		return quantity.Share(v).Format(2)
	}
	return strconv.FormatFloat(math.Round(v*1e4)/1e4, 'f', -1, 64) + " " + m.Unit()
}

// phrase joins the words that there are.
func phrase(words ...string) string {
	text := ""
	for _, w := range words {
		if w == "" {
			continue
		}
		if text != "" {
			text += " "
		}
		text += w
	}
	return text
}

// Date is a day as the screens print it.
func (f *Facts) Date(d calendar.Day) string { return f.m.date(d) }

// Kg is a mass in kilograms or pounds, as the screens print it.
func (f *Facts) Kg(m quantity.Mass) string { return f.m.kgs(m).Text }

// Metres is a length in metres or feet, as the screens print it.
func (f *Facts) Metres(l quantity.Length) string { return f.m.length(l).Text }

// ExactMetres is a length with as many decimals as it takes to say its millimetres.
func (f *Facts) ExactMetres(l quantity.Length) string {
	one := quantity.Length(1)
	if f.m.us() {
		one = quantity.MetrePerFoot
	}
	const finest = 4 // 0.0001 ft is 0.03 mm
	x := float64(l / one)
	for decimals := 0; ; decimals++ {
		ten := math.Pow10(decimals)
		if near := math.Round(x*ten) / ten; decimals == finest || records.Millis(quantity.Length(near)*one) == records.Millis(l) {
			return quantity.Grouped(near, decimals)
		}
	}
}

// Units are the symbols of small masses and of lengths.
func (f *Facts) Units() (mass, length string) { return f.m.kg(), f.m.metre() }
