// Package ics writes a plan's dates as an iCalendar file (RFC 5545): when to order, when loads arrive, when a line is to be started.
// The same thing has the same UID in each plan: a delivery by its code, a lane's last day to order by grade and lane, an order of
// loads by its lane and day, a start by its line and day, so that what an event is called does not hang on what else there is. SEQUENCE
// grows with the plan. Importing a later file changes what is there instead of adding to it; what is now on another day is
// cancelled where it was.
package ics

import (
	"fmt"
	"hash/fnv"
	"io"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	ical "github.com/arran4/golang-ical"

	"feedline/cmd/internal/report/view"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// Options say how. The zero value is metric, a plan without a number and nothing before it.
type Options struct {
	Units  quantity.System
	Number int64           // of the plan in its book: the SEQUENCE of its events; 0 = none
	Before []*planner.Plan // plans whose events a calendar may hold: those that this plan no longer has are cancelled
}

// product names us in the file.
const product = "-//feedline//plan//EN"

// Write writes the calendar.
func Write(w io.Writer, in *planner.Input, p *planner.Plan, opt Options) error {
	cal := &ical.Calendar{}
	cal.SetVersion("2.0")
	cal.SetProductId(product)
	cal.SetCalscale("GREGORIAN")
	cal.SetMethod(ical.MethodPublish)
	name := clean(p.Heading())
	cal.SetName(name)
	cal.SetXWRCalName(name)
	now := eventsOf(in, p, opt)
	held := map[string]bool{}
	for _, e := range now {
		held[e.uid] = true
		e.add(cal, p, opt)
	}
	for _, e := range gone(in, p, opt, held) {
		e.add(cal, p, opt)
	}
	return cal.SerializeTo(w, ical.WithNewLine("\r\n"))
}

// gone are the events from p's start on that plans before had and p has not, cancelled.
func gone(in *planner.Input, p *planner.Plan, opt Options, held map[string]bool) []event {
	var list []event
	for _, old := range opt.Before {
		for _, e := range eventsOf(in, old, opt) {
			if !held[e.uid] && e.day >= p.Start {
				held[e.uid] = true
				e.cancelled = true
				list = append(list, e)
			}
		}
	}
	return list
}

// event is an all-day event.
type event struct {
	uid, summary, text, category string
	day                          calendar.Day
	cancelled                    bool
}

// uid is the same for the same thing in every plan of a plant. Names may hold anything, so they are hashed; what is left to read is the kind.
func uid(plant, kind string, names ...string) string {
	h := fnv.New128a()
	for _, n := range append([]string{plant, kind}, names...) {
		fmt.Fprintf(h, "%d:%s", len(n), n)
	}
	return fmt.Sprintf("%s-%x@feedline", kind, h.Sum(nil))
}

// eventsOf lists a plan's events by day.
func eventsOf(in *planner.Input, p *planner.Plan, opt Options) []event {
	list := slices.Concat(orderBys(in, p, opt), arrivals(in, p, opt), starts(in, p))
	slices.SortStableFunc(list, func(a, b event) int {
		if a.day != b.day {
			return int(a.day - b.day)
		}
		return strings.Compare(a.uid, b.uid)
	})
	return list
}

// orderBys are the last days to order for a shortage. Too late ones fall on the day on which the plan was made.
func orderBys(in *planner.Input, p *planner.Plan, opt Options) []event {
	var list []event
	for _, o := range p.OrderBy {
		e := event{uid: uid(p.Plant, "order-by", o.Grade, o.Lane), day: o.By, category: "Order by",
			summary: fmt.Sprintf("Order by: %d × %s for %s", o.Loads, o.Lane, o.Grade),
			text: fmt.Sprintf("Last day to order %d loads (%s) on %s%s so that they are there on %s, when %s needs them, at the service level. Landed %s of pellets. In the plan: %s.",
				o.Loads, o.Mass.FormatTons(opt.Units, 1), o.Lane, comma(o.Terms()), view.Date(o.Needed), o.Grade, o.Landed.Format(p.Currency, opt.Units, 2), yes(o.InPlan))}
		if o.TooLate {
			e.day = p.MadeOn(in)
			e.summary = fmt.Sprintf("Too late: %d × %s for %s", o.Loads, o.Lane, o.Grade)
			e.text = fmt.Sprintf("The day to order was %s. ", view.Date(o.By)) + e.text
		}
		list = append(list, e)
	}
	return list
}

// comma ends what is put between commas; nothing stays nothing.
func comma(terms string) string {
	if terms == "" {
		return ""
	}
	return terms + ","
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// arrivals are deliveries by their code, and the loads that the plan orders: the days to order and to expect them, known by lane and day of
// the order, and counted where there are several.
func arrivals(in *planner.Input, p *planner.Plan, opt Options) []event {
	var list []event
	on := map[string]int{}
	for _, a := range view.Arrivals(in, p) {
		mass := quantity.Mass(a.Mass).FormatTons(opt.Units, 1)
		if !a.New() {
			e := event{uid: uid(p.Plant, "delivery", a.Code), day: a.Planned, category: "Arrival", summary: fmt.Sprintf("Arrives: %s, %s %s", a.Code, mass, a.Material),
				text: fmt.Sprintf("Delivery %s, %s, %s. The plan counts on this day", a.Code, mass, a.Status)}
			if a.ETA != 0 {
				e.text += ", the ETA is " + view.Date(a.ETA)
			}
			e.text += "."
			if a.Overdue {
				e.summary = fmt.Sprintf("Overdue: %s, %s %s", a.Code, mass, a.Material)
				e.text = fmt.Sprintf("Delivery %s, %s, %s, was expected on %s and is not booked. The plan counts on it at once: book it as received, or enter its new day.", a.Code, mass, a.Status, view.Date(a.ETA))
			}
			list = append(list, e)
			continue
		}
		day := a.Ordered.String()
		on[a.Lane+"\x00"+day]++
		n := fmt.Sprint(on[a.Lane+"\x00"+day])
		text := fmt.Sprintf("The plan orders %d loads (%s of %s) on %s on %s and counts on them on %s.", a.Loads, mass, a.Material, a.Lane, view.Date(a.Ordered), view.Date(a.Planned))
		list = append(list,
			event{uid: uid(p.Plant, "order", a.Lane, day, n), day: a.Ordered, category: "Order", summary: fmt.Sprintf("Order: %d × %s, %s", a.Loads, a.Lane, mass), text: text},
			event{uid: uid(p.Plant, "arrival", a.Lane, day, n), day: a.Planned, category: "Arrival", summary: fmt.Sprintf("Arrives: %d × %s, %s", a.Loads, a.Lane, mass), text: text + " Not ordered yet when the plan was made."})
	}
	return list
}

// starts are the days on which a line is to come on, known by line and day.
func starts(in *planner.Input, p *planner.Plan) []event {
	var list []event
	for _, u := range p.Lines {
		if !u.Started || u.Bucket < 0 || u.Bucket >= len(p.Buckets) {
			continue
		}
		b := p.Buckets[u.Bucket]
		text := fmt.Sprintf("Start %s, %s.", u.Line, quantity.Grouped(float64(u.Startup), 1)+" h from cold to good product")
		if b.Weekly() {
			text += " In this week; the day is the scheduler's choice."
		}
		list = append(list, event{uid: uid(p.Plant, "start", u.Line, b.Span.From.String()), day: b.Span.From, category: "Line start", summary: "Start line " + u.Line, text: text + " " + view.Cautions[0]})
	}
	return list
}

// add puts the event into a calendar. What is written is a date without a time or a zone: it is that day wherever it is read.
func (e event) add(cal *ical.Calendar, p *planner.Plan, opt Options) {
	v := cal.AddEvent(e.uid)
	v.SetDtStampTime(p.Made)
	v.SetSequence(int(opt.Number))
	v.SetAllDayStartAt(e.day.UTC())
	v.SetAllDayEndAt((e.day + 1).UTC())
	v.SetSummary(clean(e.summary))
	v.SetDescription(clean(e.text))
	v.AddCategory(e.category)
	v.SetTimeTransparency(ical.TransparencyTransparent) // the day stays free
	v.SetStatus(ical.ObjectStatusConfirmed)
	if e.cancelled {
		v.SetStatus(ical.ObjectStatusCancelled)
	}
}

// clean leaves out control characters, which iCalendar has no way to write, and makes ends of lines blanks.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\r' || r == '\t' || r == '\u00a0':
			return ' '
		case unicode.IsControl(r) || r == utf8.RuneError:
			return -1
		}
		return r
	}, s)
}
