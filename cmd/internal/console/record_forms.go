package console

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"feedline/cmd/internal/console/rows"
	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/records"
	"feedline/yield"
)

// codesOf is the codes of a list, as a field's options.
func codesOf[T any](list []T, code func(T) string) (out []string) {
	for _, x := range list {
		out = append(out, code(x))
	}
	return out
}

func dayField(d calendar.Day) field {
	return field{name: "day", label: "Day", value: d.String(), day: true}
}

func noteField() field { return field{name: "note", label: "Note"} }

func (c *console) shiftField() field {
	return field{name: "shift", label: "Shift", value: c.used["shift"], options: codesOf(c.in().Calendar.Shifts, func(s calendar.Shift) string { return s.Code }), hint: "may be blank"}
}

func planned(v any) string {
	if x, ok := v.(float64); ok {
		return "planned " + quantity.Grouped(x, 0)
	}
	return ""
}

// runForm asks for what a line made.
func (c *console) runForm(line, profile, hint string) {
	kg, metre := c.facts.Units()
	day := c.facts.Yesterday()
	f := &form{title: fmt.Sprintf("Made on %s", day), fields: []field{
		{name: "line", label: "Line", value: line, options: c.lineCodes()},
		{name: "profile", label: "Profile", value: profile, options: c.profilesOn(line)},
		{name: "good metres", label: "Good " + metre, hint: hint},
		{name: "scrap", label: "Scrap " + kg},
		{name: "run time", label: "Hours run"},
		{name: "down time", label: "Hours down", hint: "blank: the sum of the stops"},
		{name: "set-up time", label: "Hours set-up"},
		{name: "stops", label: "Stops", hint: c.stopsHint()},
		{name: "fed", label: "Fed " + kg, hint: "pellets, if weighed"},
		c.shiftField(),
		dayField(day),
		noteField(),
	}, do: func(m map[string]string) error { return c.record(Entry{records.KindRun, m}) }}
	f.changed = func(name string) {
		if name == "line" {
			f.field("profile").options = c.profilesOn(f.field("line").value)
		}
	}
	c.open(f)
	switch {
	case line != "" && profile != "":
		f.editNamed("good metres")
	case line != "":
		f.editNamed("profile")
	}
}

func (c *console) lineCodes() (list []string) {
	for _, l := range c.in().Lines {
		list = append(list, l.Code)
	}
	return list
}

// profilesOn are the profiles that a line has a rate for, all if the line is not known.
func (c *console) profilesOn(line string) (list []string) {
	for _, x := range c.in().Fits {
		if x.Line == line {
			list = append(list, x.Profile)
		}
	}
	if len(list) == 0 {
		return c.profileCodes()
	}
	return list
}

func (c *console) profileCodes() (list []string) {
	for _, p := range c.in().Profiles {
		list = append(list, p.Code)
	}
	return list
}

// stopsHint is how stops are written, with the plant's first reason.
func (c *console) stopsHint() string {
	if r := c.in().Reasons; len(r) > 0 {
		return "such as " + r[0].Code + " 0.5"
	}
	return "the book has no reasons"
}

// coming are the deliveries on their way, the next first.
func (c *console) coming() (list []inventory.Delivery) {
	for _, d := range c.in().Deliveries {
		if d.Coming() {
			list = append(list, d)
		}
	}
	slices.SortStableFunc(list, func(a, b inventory.Delivery) int { return int(a.ETA) - int(b.ETA) })
	return list
}

func (c *console) comingCodes() []string {
	return codesOf(c.coming(), func(d inventory.Delivery) string { return d.Code })
}

// receiptForm asks for the ticket of a delivery.
func (c *console) receiptForm(d inventory.Delivery) {
	kg, _ := c.facts.Units()
	f := &form{title: fmt.Sprintf("Receive %s, %s", d.Code, d.Material), fields: slices.Concat([]field{
		{name: "ticket", label: "Ticket", value: d.Code},
		{name: "net", label: "Net " + kg, value: c.facts.Kg(d.Mass)},
		{name: "lot", label: "Lot", value: d.Code},
		{name: "part", label: "Part", value: "no", options: []string{"no", "yes"}, hint: "yes: more of it is to come"},
	}, c.resultFields(), decisionFields(), []field{dayField(c.facts.Today()), noteField()}), do: func(m map[string]string) error {
		m["delivery"] = d.Code
		return c.recordResults(records.KindReceipt, m)
	}}
	c.open(f)
	f.editNamed("net")
}

// anyReceiptForm asks for the ticket of a load, announced or not.
func (c *console) anyReceiptForm() {
	kg, _ := c.facts.Units()
	in := c.in()
	c.open(&form{title: "Receive a load", fields: slices.Concat([]field{
		{name: "ticket", label: "Ticket"},
		{name: "delivery", label: "Delivery", options: c.comingCodes(), hint: "blank: none was announced"},
		{name: "lane", label: "Lane", options: codesOf(in.Lanes, func(l inventory.Lane) string { return l.Code }), hint: "blank: the delivery's"},
		{name: "supplier", label: "Supplier", options: codesOf(in.Suppliers, func(s inventory.Supplier) string { return s.Code }), hint: "blank: the lane's"},
		{name: "material", label: "Material", options: codesOf(in.Materials, func(m inventory.Material) string { return m.Code }), hint: "blank: the delivery's or the lane's"},
		{name: "ordered", label: "Ordered", day: true, hint: "blank: the delivery's"},
		{name: "gross", label: "Gross " + kg},
		{name: "tare", label: "Tare " + kg},
		{name: "net", label: "Net " + kg, hint: "blank: gross less tare"},
		{name: "lot", label: "Lot", hint: "blank: the ticket's"},
		{name: "part", label: "Part", value: "no", options: []string{"no", "yes"}, hint: "yes: more of it is to come"},
	}, c.resultFields(), decisionFields(), []field{dayField(c.facts.Today()), noteField()}), do: func(m map[string]string) error {
		if m["ticket"] == "" {
			return &FieldError{"ticket", errors.New("the ticket is blank: enter its number")}
		}
		return c.recordResults(records.KindReceipt, m)
	}})
}

// resultFields ask for the measures, those that the plant has a limit for first, each beside its limit.
func (c *console) resultFields() []field {
	var limited, others []field
	for _, m := range inventory.Measures {
		f := field{name: string(m), label: label(m)}
		for _, l := range c.in().Limits {
			if l.Measure == m {
				f.hint = strings.TrimPrefix(f.hint+", limit "+rows.Amount(m, l.Most), ", ")
			}
		}
		if f.hint == "" {
			others = append(others, f)
		} else {
			limited = append(limited, f)
		}
	}
	return append(limited, others...)
}

// label is a measure as it is asked for, with the unit of a bare number: shares in percent, as laboratories write them.
func label(m inventory.Measure) string {
	unit := m.Unit()
	if unit == "" {
		unit = "%"
	}
	name := string(m)
	return strings.ToUpper(name[:1]) + name[1:] + " " + unit
}

func decisionFields() []field {
	return []field{
		{name: "decision", label: "Decision", options: []string{"hold", "release", ""}, hint: "blank: the limits decide"},
		{name: "reason", label: "Reason", hint: "of a hold"},
	}
}

// recordResults records values with results among them.
func (c *console) recordResults(k records.Kind, m map[string]string) error {
	for _, x := range inventory.Measures {
		if s := m[string(x)]; x.Unit() == "" && s != "" {
			m[string(x)] = withUnit(s, "%")
		}
	}
	return c.record(Entry{k, m})
}

// withUnit is a number with the unit of its field behind it, unless another was typed.
func withUnit(s, unit string) string {
	if _, err := strconv.ParseFloat(strings.ReplaceAll(s, " ", ""), 64); err == nil {
		return s + " " + unit
	}
	return s
}

// testForm asks for results of a lot and what is decided over it.
func (c *console) testForm(code, decision string) {
	var lots []string
	for _, l := range c.in().Lots {
		if l.Mass > 0 || l.Code == code {
			lots = append(lots, l.Code)
		}
		if code == "" && l.Hold && l.Mass > 0 { // what waits is tested next
			code = l.Code
		}
	}
	if code == "" && len(lots) > 0 {
		code = lots[0]
	}
	f := &form{title: "Test of a lot", fields: slices.Concat([]field{{name: "lot", label: "Lot", value: code, options: lots}},
		c.resultFields(), decisionFields(), []field{dayField(c.facts.Today()), {name: "code", label: "Number", hint: "blank: one is given"}, noteField()}),
		do: func(m map[string]string) error { return c.recordResults(records.KindTest, m) }}
	f.field("decision").value = decision
	var told []records.Entry
	f.changed = func(name string) {
		if name == "lot" {
			f.about = c.lotLine(f.field("lot").value, told)
		}
	}
	f.changed("lot")
	c.open(f)
	switch decision {
	case "hold":
		f.editNamed("reason")
	case "release":
		f.editNamed("decision")
	default:
		f.edit(1)
	}
	c.background(func() func() {
		list, err := c.need.Recorder.Entries(c.ctx, 0, records.KindReceipt, records.KindTest)
		return func() {
			if err == nil {
				told = list
				f.changed("lot")
			}
		}
	})
}

// lotLine says what is known of a lot.
func (c *console) lotLine(code string, told []records.Entry) rows.Line {
	kg, _ := c.facts.Units()
	for _, l := range c.in().Lots {
		if l.Code != code {
			continue
		}
		state := rows.Span{Text: ", free", Tone: rows.Quiet}
		if l.Hold {
			state = rows.Span{Text: strings.TrimSuffix(", ! on hold: "+l.Reason, ": "), Tone: rows.Alert}
		}
		line := rows.Line{{Text: fmt.Sprintf("%s %s, %s %s", l.Code, l.Material, c.facts.Kg(l.Mass), kg), Tone: rows.Quiet}, state}
		if s := rows.Results(rows.LotResults(told, code)); s != "" {
			line = append(line, rows.Span{Text: "; last " + s, Tone: rows.Quiet})
		}
		return line
	}
	return rows.Line{{Text: "! The book has no lot " + code + " in the yard.", Tone: rows.Alert}}
}

// processForm asks for a run of a step before extrusion. It begins with the lot given, else with the oldest that is free.
func (c *console) processForm(code string) {
	kg, _ := c.facts.Units()
	lot := c.nextLot(code)
	step := c.stepFor(lot)
	f := &form{title: "Process run", fields: []field{
		{name: "step", label: "Step", value: step.Code, options: codesOf(c.in().Steps, func(s yield.Step) string { return s.Code })},
		{name: "lot", label: "Lot", value: lot.Code},
		{name: "taken", label: "Taken " + kg},
		{name: "more", label: "More lots", hint: "LOT " + kg + "; LOT " + kg},
		{name: "regrind", label: "Regrind " + kg, hint: "own, of the grade"},
		{name: "grade", label: "Grade", options: codesOf(c.in().Grades, func(g inventory.Grade) string { return g.Code })},
		{name: "out", label: "Out " + kg},
		{name: "filter loss", label: "Filter loss " + kg, hint: "of what was lost"},
		{name: "hours", label: "Hours"},
		c.shiftField(),
		dayField(c.facts.Yesterday()),
		noteField(),
	}, do: c.recordProcess}
	given := "" // the grade that the form put in: another one that was typed stays
	f.changed = func(name string) {
		if name != "step" && name != "lot" && name != "" {
			return
		}
		lot, step := c.lotOf(f.field("lot").value), c.stepOf(f.field("step").value)
		f.field("lot").options = c.lotsFor(step)
		f.field("taken").hint = ""
		if lot.Code != "" {
			f.field("taken").hint = "in the book " + c.facts.Kg(lot.Mass)
		}
		if g := f.field("grade"); g.value == given {
			given = c.gradeFor(step, lot)
			g.value = given
		}
		f.field("grade").hint = "blank: it stays part of its lots"
		f.field("out").hint = ""
		if y := c.facts.StepYield(step, lot.Material); y != "" {
			f.field("out").hint = "as a rule " + y
		}
		f.about = c.lotLine(f.field("lot").value, nil)
	}
	f.changed("")
	c.open(f)
	if lot.Code != "" {
		f.editNamed("taken")
	}
}

// recordProcess puts the lots together and tells a fault of them at the field that they came from.
func (c *console) recordProcess(m map[string]string) error {
	parts := []string{}
	if m["taken"] != "" {
		parts = append(parts, m["lot"]+" "+closed(m["taken"]))
	}
	if m["more"] != "" {
		parts = append(parts, m["more"])
	}
	fields := map[string]string{"lots": strings.Join(parts, "; ")}
	for _, name := range []string{"step", "regrind", "grade", "out", "filter loss", "hours", "shift", "day", "note"} {
		fields[name] = m[name]
	}
	err := c.record(Entry{records.KindProcess, fields})
	var at *FieldError
	if errors.As(err, &at) && at.Field == "lots" {
		at.Field = "taken"
		if text := err.Error(); m["more"] != "" && !strings.Contains(text, m["lot"]) {
			at.Field = "more"
		} else if strings.Contains(text, `"`+m["lot"]+`"`) {
			at.Field = "lot"
		}
	}
	return err
}

// closed is an amount without spaces between its digits.
func closed(s string) string {
	return inDigits.ReplaceAllString(inDigits.ReplaceAllString(s, "$1$2"), "$1$2") // twice: 1 2 3
}

var inDigits = regexp.MustCompile(`(\d)[ \x{a0}\x{202f}]+(\d)`)

func (c *console) lotOf(code string) inventory.Lot {
	for _, l := range c.in().Lots {
		if l.Code == code {
			return l
		}
	}
	return inventory.Lot{}
}

func (c *console) stepOf(code string) yield.Step {
	for _, s := range c.in().Steps {
		if s.Code == code {
			return s
		}
	}
	return yield.Step{}
}

// nextLot is the lot of a code, else the oldest that is free of those for the step used last, or for the step that most lots wait for.
func (c *console) nextLot(code string) inventory.Lot {
	if code != "" {
		return c.lotOf(code)
	}
	list := c.lotsFor(c.stepOf(c.used["step"]))
	if c.used["step"] == "" {
		waiting, most := map[string][]string{}, ""
		for _, code := range list {
			if s := c.lastStep(c.lotOf(code)).Code; s != "" {
				waiting[s] = append(waiting[s], code)
				if most == "" || len(waiting[s]) > len(waiting[most]) {
					most = s
				}
			}
		}
		list = waiting[most]
	}
	if len(list) == 0 {
		return inventory.Lot{}
	}
	return c.lotOf(list[0])
}

// lotsFor are the lots that may go into a step, the oldest first.
func (c *console) lotsFor(s yield.Step) []string {
	var list []inventory.Lot
	for _, l := range c.in().Lots {
		if !l.Hold && l.Mass > 0 && (s.Code == "" || slices.Contains(s.Forms, c.formOf(l))) {
			list = append(list, l)
		}
	}
	slices.SortStableFunc(list, func(a, b inventory.Lot) int { return int(a.Received) - int(b.Received) })
	return codesOf(list, func(l inventory.Lot) string { return l.Code })
}

func (c *console) formOf(l inventory.Lot) string {
	for _, m := range c.in().Materials {
		if m.Code == l.Material {
			return string(m.Form)
		}
	}
	return ""
}

// lastStep is the step that makes pellets of a lot: the last that takes its form.
func (c *console) lastStep(l inventory.Lot) (last yield.Step) {
	form := c.formOf(l)
	for _, s := range c.in().Steps {
		if slices.Contains(s.Forms, form) && (last.Code == "" || s.Order >= last.Order) {
			last = s
		}
	}
	return last
}

// stepFor is the step used last if it takes the lot, else the one that makes pellets of it.
func (c *console) stepFor(l inventory.Lot) yield.Step {
	if s := c.stepOf(c.used["step"]); s.Code != "" && slices.Contains(s.Forms, c.formOf(l)) {
		return s
	}
	return c.lastStep(l)
}

// gradeFor is the grade that a lot becomes: the one made last if it may be fed to it, else the first; "" for a step that makes no pellets.
func (c *console) gradeFor(s yield.Step, l inventory.Lot) string {
	if s.Code != c.lastStep(l).Code {
		return ""
	}
	first := ""
	for _, x := range c.in().Ingredients {
		if x.Material != l.Material {
			continue
		}
		if x.Grade == c.used["grade"] {
			return x.Grade
		}
		if first == "" {
			first = x.Grade
		}
	}
	return first
}

// shipmentForm asks for what left the rack: of an order, else of a profile, else of the order that is due first.
func (c *console) shipmentForm(order, profile string) {
	_, metre := c.facts.Units()
	list := c.facts.Open()
	if order == "" && profile == "" && len(list) > 0 {
		order = list[0].Code
	}
	f := &form{title: "Shipment", fields: []field{
		{name: "order", label: "Order", value: order, options: codesOf(list, func(o planner.Order) string { return o.Code }), hint: "may be blank"},
		{name: "profile", label: "Profile", value: profile, options: c.profileCodes(), hint: "blank: the order's"},
		{name: "length", label: "Length " + metre},
		{name: "code", label: "Note number", hint: "blank: one is given"},
		dayField(c.facts.Today()),
		noteField(),
	}, do: func(m map[string]string) error { return c.record(Entry{records.KindShipment, m}) }}
	given := ""
	f.changed = func(name string) {
		if name != "order" && name != "profile" && name != "" {
			return
		}
		length, of, code := f.field("length"), f.field("profile").value, f.field("order").value
		open := ""
		f.about = nil
		if code != "" && !slices.Contains(f.field("order").options, code) {
			f.about = rows.Line{{Text: "! No order " + code + " is open.", Tone: rows.Alert}}
			return
		}
		for _, o := range list {
			if o.Code == code {
				of, open = o.Profile, c.facts.ExactMetres(min(o.Length, c.facts.Rack(o.Profile)))
				f.about = rows.Line{{Text: fmt.Sprintf("%s: %s, %s %s open, due %s", strings.TrimSpace(o.Code+" "+o.Customer), o.Profile, c.facts.Metres(o.Length), metre, c.facts.Date(o.Due)), Tone: rows.Quiet}}
			}
		}
		length.hint = ""
		if of != "" {
			length.hint = "in the rack " + c.facts.Metres(c.facts.Rack(of))
		}
		if length.value == given {
			length.value, given = open, open
		}
	}
	f.changed("")
	c.open(f)
	f.editNamed("length")
}

// etaForm asks for a delivery's new date or status, beside those that it had.
func (c *console) etaForm(code string) {
	if code == "" {
		code = c.coming()[0].Code
	}
	of := func(code string) (d inventory.Delivery) {
		for _, x := range c.coming() {
			if x.Code == code {
				d = x
			}
		}
		return d
	}
	f := &form{title: "New ETA", fields: []field{
		{name: "delivery", label: "Delivery", value: code, options: c.comingCodes()},
		{name: "ETA", label: "ETA", day: true},
		{name: "status", label: "Status", options: []string{"ordered", "afloat", "at port", "on the road", "rejected", ""}, hint: "blank: as it was"},
		{name: "spread", label: "Spread days", hint: "blank: as it was"},
		{name: "note", label: "Note", hint: "why"},
		dayField(c.facts.Today()),
	}}
	f.do = func(m map[string]string) error {
		if d := of(m["delivery"]); d.Code != "" && m["ETA"] == d.ETA.String() && m["status"] == "" && m["spread"] == "" {
			return &FieldError{"ETA", fmt.Errorf("ETA %s is what the book has: enter another day, a status or a spread", d.ETA)}
		}
		return c.record(Entry{records.KindETA, m})
	}
	var told []records.Entry
	given := ""
	f.changed = func(name string) {
		if name != "delivery" && name != "" {
			return
		}
		d := of(f.field("delivery").value)
		if d.Code == "" {
			f.about = rows.Line{{Text: "! No delivery " + f.field("delivery").value + " is on its way.", Tone: rows.Alert}}
			return
		}
		kg, _ := c.facts.Units()
		text := fmt.Sprintf("%s %s, %s %s, %s, ETA %s ±%g d", d.Code, d.Material, c.facts.Kg(d.Mass), kg, d.Status, c.facts.Date(d.ETA), d.Spread)
		if s := c.facts.ETAHistory(told, d.Code); s != "" {
			text += "; was " + s
		}
		f.about = rows.Line{{Text: text, Tone: rows.Quiet}}
		if eta := f.field("ETA"); eta.value == given {
			eta.value, given = d.ETA.String(), d.ETA.String()
		}
	}
	f.changed("")
	c.open(f)
	f.editNamed("ETA")
	c.background(func() func() {
		list, err := c.need.Recorder.Entries(c.ctx, 0, records.KindETA)
		return func() {
			if err == nil {
				told = list
				f.changed("delivery")
			}
		}
	})
}

// countForm asks for what was counted.
func (c *console) countForm(kind, code, book string) {
	kg, metre := c.facts.Units()
	name, unit := "mass", kg
	if kind == string(records.InProfile) {
		name, unit = "length", metre
	}
	c.open(&form{title: "Count of " + kind + " " + code, fields: []field{
		{name: name, label: "Found " + unit, hint: "book " + book},
		dayField(c.facts.Today()),
		noteField(),
	}, do: func(m map[string]string) error {
		if m[name] == "" {
			return &FieldError{name, errors.New("found is blank: enter what was counted, 0 for nothing")}
		}
		m["counted"], m["item"] = kind, code
		return c.record(Entry{records.KindCount, m})
	}})
}
