package planner

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/yield"
)

// The changes that a scheduler or a buyer thinks of, as edits. Each looks at the Input that the edits are to be applied to; an
// error is an *EditError. Spans are half-open.

// LineDown takes a line out of work for the days of span: as down if they begin by today, so that it has to be started again,
// else, or if it is not set up yet, as an outage. A line that is down for longer stays so.
func LineDown(in *Input, today calendar.Day, line string, span calendar.Span) ([]Edit, error) {
	ln, err := lineOf(in, line)
	if err != nil {
		return nil, err
	}
	if span.Days() == 0 {
		return nil, &EditError{line, "is down for no day", "give the last day as the first or later"}
	}
	if err := notOver(today, span); err != nil {
		return nil, err
	}
	if span.From <= today && ln.State != lines.Uncommissioned {
		back := span.To
		if ln.State == lines.Down {
			back = max(back, ln.DownUntil)
		}
		return []Edit{{Op: EditSet, Table: TableLines, Key: line, Cells: map[string]string{"state": "down", "down_until": back.String()}}}, nil
	}
	code := fresh("down-"+line, in.Calendar.Outages, func(o calendar.Outage) string { return o.Code })
	return []Edit{AddRow(TableOutages, map[string]string{"code": code, "machine": line, "from": span.From.String(), "to": span.To.String()})}, nil
}

// LineUp has a line ready to be started, cold, on the day from: one that is down, in an outage then, or not set up yet. What it costs to set
// one up stays, to be paid if it is used; the days that it takes lie before.
func LineUp(in *Input, today calendar.Day, line string, from calendar.Day) ([]Edit, error) {
	ln, err := lineOf(in, line)
	if err != nil {
		return nil, err
	}
	from = max(from, today)
	var list []Edit
	switch {
	case ln.State == lines.Down && from <= today:
		list = append(list, Edit{Op: EditSet, Table: TableLines, Key: line, Cells: map[string]string{"state": "ready", "down_until": ""}})
	case ln.State == lines.Down && from < ln.DownUntil:
		list = append(list, SetCell(TableLines, line, "down_until", from.String()))
	case ln.State == lines.Uncommissioned:
		list = append(list, Edit{Op: EditSet, Table: TableLines, Key: line,
			Cells: map[string]string{"commissioning_earliest": from.String(), "commissioning_days": "0"}})
	}
	for _, o := range in.Calendar.Outages {
		if at := in.Calendar.At(from, 0); o.Machine == line && o.From.Before(at) && o.To.After(at) {
			list = append(list, SetCell(TableOutages, o.Code, "to", from.String()))
		} else if o.Machine == line && o.From.Equal(at) {
			list = append(list, DropRow(TableOutages, o.Code))
		}
	}
	if len(list) == 0 {
		return nil, &EditError{line, "is not down on " + from.String(), "to make it run, pin it: run " + line + " FROM..TO"}
	}
	return list, nil
}

// PinLine pins a line for the days of span; profile may be "" but for PinForbid, else it is one that the line has a rate for.
func PinLine(in *Input, kind PinKind, line, profile string, span calendar.Span) ([]Edit, error) {
	if _, err := lineOf(in, line); err != nil {
		return nil, err
	}
	code := fresh(string(kind)+"-"+line, in.Pins, func(p Pin) string { return p.Code })
	cells := map[string]string{"code": code, "kind": string(kind), "line": line, "first_day": span.From.String(), "last_day": (span.To - 1).String()}
	if profile != "" {
		if err := runs(in, line, profile); err != nil {
			return nil, err
		}
		cells["profile"] = profile
	}
	return []Edit{AddRow(TablePins, cells)}, nil
}

// DeliveryMoved gives a delivery another ETA.
func DeliveryMoved(in *Input, code string, eta calendar.Day) ([]Edit, error) {
	if _, err := comingOf(in, code); err != nil {
		return nil, err
	}
	return []Edit{SetCell(TableDeliveries, code, "ETA", eta.String())}, nil
}

// DeliveryLost takes a delivery off what is counted on.
func DeliveryLost(in *Input, code string) ([]Edit, error) {
	if _, err := comingOf(in, code); err != nil {
		return nil, err
	}
	return []Edit{SetCell(TableDeliveries, code, "status", string(inventory.Rejected))}, nil
}

// DeliverySplit moves part of a delivery to a later, or earlier, ETA of its own.
func DeliverySplit(in *Input, code string, part quantity.Mass, eta calendar.Day) ([]Edit, error) {
	d, err := comingOf(in, code)
	if err != nil {
		return nil, err
	}
	if part <= 0 || part >= d.Mass {
		return nil, &EditError{kilograms(part), "is not part of " + code, "give more than 0 and less than " + kilograms(d.Mass)}
	}
	cells := map[string]string{"code": fresh(code, in.Deliveries, func(x inventory.Delivery) string { return x.Code }), "lane": d.Lane, "material": d.Material,
		"mass": kilograms(part), "ETA": eta.String(), "spread": figure(d.Spread), "status": string(d.Status), "note": d.Note}
	if d.Ordered != 0 {
		cells["ordered"] = d.Ordered.String()
	}
	return []Edit{SetCell(TableDeliveries, code, "mass", kilograms(d.Mass-part)), AddRow(TableDeliveries, cells)}, nil
}

// LoadAdded adds whole loads on a lane with an ETA, scattered as the lane's lead time does.
func LoadAdded(in *Input, lane string, loads int, eta calendar.Day) ([]Edit, error) {
	if err := known(lane, in.Lanes, "lane", func(l inventory.Lane) string { return l.Code }); err != nil {
		return nil, err
	}
	for _, l := range in.Lanes {
		if l.Code == lane {
			code := fresh("load-"+lane, in.Deliveries, func(x inventory.Delivery) string { return x.Code })
			return []Edit{AddRow(TableDeliveries, map[string]string{"code": code, "lane": lane, "material": l.Material,
				"mass": kilograms(quantity.Mass(loads) * l.Load), "ETA": eta.String(), "spread": figure(l.LeadTime.SD), "status": string(inventory.Ordered)})}, nil
		}
	}
	panic("planner: a known lane is not there")
}

// OrderAdded adds an order; without a code it gets one.
func OrderAdded(in *Input, o Order) ([]Edit, error) {
	if err := known(o.Profile, in.Profiles, "profile", func(p lines.Profile) string { return p.Code }); err != nil {
		return nil, err
	}
	if o.Code == "" {
		o.Code = fresh("new", in.Orders, func(x Order) string { return x.Code })
	}
	cells := map[string]string{"code": o.Code, "profile": o.Profile, "length": figure(float64(o.Length)) + " m", "due": o.Due.String(), "priority": strconv.Itoa(max(1, o.Priority))}
	if o.Customer != "" {
		cells["customer"] = o.Customer
	}
	if o.Price > 0 {
		cells["price"] = figure(float64(o.Price)) + " /m"
	}
	return []Edit{AddRow(TableOrders, cells)}, nil
}

// OrderMoved gives an order another due day.
func OrderMoved(in *Input, code string, due calendar.Day) ([]Edit, error) {
	if err := known(code, in.Orders, "order", func(o Order) string { return o.Code }); err != nil {
		return nil, err
	}
	return []Edit{SetCell(TableOrders, code, "due", due.String())}, nil
}

// RateChanged multiplies the limits of a line by factor, of one profile or, with "", of all that it runs. They are those of counted: the input
// with the figures that plans are made with, estimates in place of what was entered.
func RateChanged(counted *Input, line, profile string, factor float64) ([]Edit, error) {
	if _, err := lineOf(counted, line); err != nil {
		return nil, err
	}
	if !(factor > 0) || math.IsInf(factor, 1) {
		return nil, &EditError{figure(factor), "is no factor for a rate", "give a share above 0, such as 90% or 1.1"}
	}
	if profile != "" {
		if err := runs(counted, line, profile); err != nil {
			return nil, err
		}
	}
	var list []Edit
	for _, x := range counted.Fits {
		if x.Line != line || profile != "" && x.Profile != profile {
			continue
		}
		cells := map[string]string{}
		if x.Melt > 0 {
			cells["melt"] = rounded(float64(x.Melt)*factor) + " kg/h"
		}
		if x.HaulOff > 0 {
			cells["haul_off"] = rounded(float64(x.HaulOff)*factor) + " m/min"
		}
		list = append(list, Edit{Op: EditSet, Table: TableRates, Key: JoinKey(line, x.Profile), Cells: cells})
	}
	if len(list) == 0 {
		return nil, &EditError{line, "has no rates", "enter what it makes in the sheet rates"}
	}
	return list, nil
}

// yieldKind is the kind of estimates of yields, see planner/estimates.
const yieldKind = "yield"

// YieldChanged sets the yield of a step, for one material or, with "", for all that have none of their own. Estimates of counted, the input with
// the figures that plans are made with, that it would not keep out, as the share is what was entered, are overruled.
func YieldChanged(in, counted *Input, step, material string, share quantity.Share) ([]Edit, error) {
	list, err := yieldEntered(in, step, material, share)
	if err != nil {
		return nil, err
	}
	for _, e := range counted.Basis.List() {
		own := slices.ContainsFunc(in.Overrides, func(o yield.Override) bool { return o.Step == step && o.Material == e.B })
		if own && material == "" {
			continue
		}
		if e.Used && e.Kind == yieldKind && e.A == step && (material == "" || e.B == material) && math.Abs(e.Entered-float64(share)) <= 1e-9 {
			list = append(list, AddRow(TableOverrules, map[string]string{"estimate": e.Name}))
		}
	}
	return list, nil
}

// yieldEntered is the edits of the cells alone.
func yieldEntered(in *Input, step, material string, share quantity.Share) ([]Edit, error) {
	if err := known(step, in.Steps, "step", func(s yield.Step) string { return s.Code }); err != nil {
		return nil, err
	}
	if !(share > 0 && share <= 1) {
		return nil, &EditError{figure(float64(share)), "is no yield", "give the share of what goes in that comes out, above 0 and up to 100%"}
	}
	value := figure(float64(share))
	if material == "" {
		return []Edit{SetCell(TableSteps, step, "yield", value)}, nil
	}
	if err := passes(in, step, material); err != nil {
		return nil, err
	}
	for _, o := range in.Overrides {
		if o.Step == step && o.Material == material {
			return []Edit{SetCell(TableStepYields, JoinKey(step, material), "yield", value)}, nil
		}
	}
	return []Edit{AddRow(TableStepYields, map[string]string{"step": step, "material": material, "yield": value})}, nil
}

// passes refuses a material that does not pass the step.
func passes(in *Input, step, material string) error {
	if err := known(material, in.Materials, "material", func(m inventory.Material) string { return m.Code }); err != nil {
		return err
	}
	var through []string
	for _, m := range in.Materials {
		if m.Code != material {
			continue
		}
		for _, s := range (yield.Chain{Steps: in.Steps}).For(m.Code, string(m.Form)).Steps {
			through = append(through, s.Step)
		}
	}
	if slices.Contains(through, step) {
		return nil
	}
	return &EditError{material, "does not pass " + step, "it passes: " + strings.Join(through, ", ")}
}

// LotHeld puts a lot on hold, or takes it off.
func LotHeld(in *Input, code string, hold bool) ([]Edit, error) {
	if err := known(code, in.Lots, "lot", func(l inventory.Lot) string { return l.Code }); err != nil {
		return nil, err
	}
	for _, l := range in.Lots {
		switch {
		case l.Code != code || l.Hold != hold:
		case hold:
			return nil, &EditError{code, "is on hold already", "to use it: free " + code}
		default:
			return nil, &EditError{code, "is not on hold", "to keep it out: hold " + code}
		}
	}
	return []Edit{SetCell(TableLots, code, "hold", map[bool]string{true: "yes", false: "no"}[hold])}, nil
}

// CrewChanged sets the people on shift, over the whole horizon.
func CrewChanged(people float64) []Edit {
	return []Edit{SetCell(TablePlant, "", "crew", figure(people))}
}

// ClosureAdded closes the plant for the days of span.
func ClosureAdded(in *Input, span calendar.Span) []Edit {
	code := fresh("closed", in.Calendar.Closures, func(c calendar.Closure) string { return c.Code })
	return []Edit{AddRow(TableClosures, map[string]string{"code": code, "first_day": span.From.String(), "last_day": (span.To - 1).String()})}
}

func kilograms(m quantity.Mass) string { return figure(float64(m)) + " kg" }

// figure is x without an exponent, as a cell takes it.
func figure(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// rounded is figure to ten digits, so that 89 × 0.9 is 80.1.
func rounded(x float64) string {
	if y, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 10, 64), 64); err == nil {
		x = y
	}
	return figure(x)
}

// notOver refuses days that have passed before the plan begins.
func notOver(today calendar.Day, span calendar.Span) error {
	if span.To > today {
		return nil
	}
	return &EditError{(span.To - 1).String(), "lies before the first day of the plan", "give " + today.String() + " or a later day"}
}

// fresh is base, or base-2, base-3 … if rows have that code, in whatever case.
func fresh[T any](base string, rows []T, code func(T) string) string {
	taken := map[string]bool{}
	for _, r := range rows {
		taken[strings.ToLower(code(r))] = true
	}
	name := base
	for n := 2; taken[strings.ToLower(name)]; n++ {
		name = fmt.Sprintf("%s-%d", base, n)
	}
	return name
}

// known refuses a code that no row has, and names the one that may have been meant or those to choose from.
func known[T any](code string, rows []T, what string, codeOf func(T) string) error {
	var codes []string
	for _, r := range rows {
		if codeOf(r) == code {
			return nil
		}
		codes = append(codes, codeOf(r))
	}
	e := &EditError{Text: code, Reason: "is no " + what + " of the book"}
	if near, ok := Nearest(code, codes); ok {
		e.Remedy = fmt.Sprintf("did you mean %q?", near)
	} else if len(codes) == 0 {
		e.Remedy = "the book has none yet"
	} else {
		e.Remedy = "there are: " + choice(code, codes)
	}
	return e
}

// mostNamed is the most codes that a remedy lists.
const mostNamed = 12

// choice lists the codes that begin with what was given, in whatever case, or if none does all of them; the first of many.
func choice(given string, codes []string) string {
	list := codes
	if begin := slices.DeleteFunc(slices.Clone(codes), func(c string) bool {
		return given == "" || !strings.HasPrefix(strings.ToLower(c), strings.ToLower(given))
	}); len(begin) > 0 {
		list = begin
	}
	more := ""
	if n := len(list) - mostNamed; n > 1 {
		list, more = list[:mostNamed], fmt.Sprintf(" and %d more", n)
	}
	return strings.Join(list, ", ") + more
}

func lineOf(in *Input, code string) (lines.Line, error) {
	for _, l := range in.Lines {
		if l.Code == code {
			return l, nil
		}
	}
	return lines.Line{}, known(code, in.Lines, "line", func(l lines.Line) string { return l.Code })
}

func deliveryOf(in *Input, code string) (inventory.Delivery, error) {
	for _, d := range in.Deliveries {
		if d.Code == code {
			return d, nil
		}
	}
	return inventory.Delivery{}, known(code, in.Deliveries, "delivery", func(d inventory.Delivery) string { return d.Code })
}

// comingOf is a delivery that is still counted on.
func comingOf(in *Input, code string) (inventory.Delivery, error) {
	d, err := deliveryOf(in, code)
	if err == nil && !d.Coming() {
		err = &EditError{code, "is " + string(d.Status) + ": nothing comes of it any more", "name a delivery that is on its way, or add one: load LANE DAY"}
	}
	return d, err
}

// runs refuses a profile that the line has no rate for.
func runs(in *Input, line, profile string) error {
	if err := known(profile, in.Profiles, "profile", func(p lines.Profile) string { return p.Code }); err != nil {
		return err
	}
	var made []string
	for _, f := range in.Fits {
		if f.Line == line {
			made = append(made, f.Profile)
		}
	}
	if slices.Contains(made, profile) {
		return nil
	}
	return &EditError{profile, "is nothing that " + line + " has a rate for", "it makes: " + choice("", made)}
}
