package planner

import (
	"fmt"
	"strconv"
	"strings"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
)

// EditVerb is a way to say edits in words: its name and what stands behind it.
type EditVerb struct {
	Name, Args, Help, Example string
	least, most               int // words behind the name
	edits                     func(v said) ([]Edit, error)
}

// said is a verb with the words behind it.
type said struct {
	in, counted *Input
	today       calendar.Day
	args        []string
}

// EditVerbs are the verbs that EditWords knows, in the order to list them. Days are YYYY-MM-DD, runs of days FIRST..LAST with the
// last one included.
var EditVerbs = []EditVerb{
	{"down", "LINE FIRST..LAST", "the line is out of order", "down L4 2027-01-11..2027-01-15", 2, 2, sayDown},
	{"up", "LINE [DAY]", "a line that is down, or not set up yet, can be started from that day", "up L7 2027-02-01", 1, 2, sayUp},
	{"run", "LINE [PROFILE] FIRST..LAST", "pin: the line runs this profile, or any", "run L6 SK80 2027-01-11..2027-01-13", 2, 3, pinWords(PinRun)},
	{"idle", "LINE FIRST..LAST", "pin: the line stands", "idle L2 2027-01-11..2027-01-15", 2, 2, pinWords(PinIdle)},
	{"forbid", "LINE PROFILE FIRST..LAST", "pin: the line does not run the profile", "forbid L1 CO50 2027-01-11..2027-01-31", 3, 3, pinWords(PinForbid)},
	{"delay", "DELIVERY DAY|+DAYS", "a delivery comes on another day", "delay D-101 +7", 2, 2, sayDelay},
	{"split", "DELIVERY MASS DAY", "part of a delivery comes on another day", "split D-101 8t 2027-02-10", 3, 3, saySplit},
	{"lose", "DELIVERY", "a delivery never comes", "lose D-101", 1, 1, func(v said) ([]Edit, error) { return DeliveryLost(v.in, v.args[0]) }},
	{"load", "LANE [LOADS] DAY", "whole loads more on a lane, expected on that day; the cost is without their price", "load NORTH-ROAD 2 2027-01-25", 2, 3, sayLoad},
	{"order", "PROFILE LENGTH DAY [PRIORITY]", "an order more, due on that day", "order SK80 4km 2027-02-05", 3, 4, sayOrder},
	{"move", "ORDER DAY|+DAYS", "an order is due on another day", "move O-1001 +14", 2, 2, sayMove},
	{"cancel", "ORDER", "an order less", "cancel O-1001", 1, 1, sayCancel},
	{"rate", "LINE [PROFILE] FACTOR", "the line runs faster or slower", "rate L4 90%", 2, 3, sayRate},
	{"yield", "STEP [MATERIAL] SHARE", "a step yields more or less: for a material, or for all that have no yield of their own", "yield PELLETIZE 93%", 2, 3, sayYield},
	{"crew", "PEOPLE", "people on shift, over the whole horizon", "crew 8", 1, 1, sayCrew},
	{"close", "FIRST..LAST", "the plant is closed", "close 2027-02-15..2027-02-16", 1, 1, sayClose},
	{"hold", "LOT", "a lot can't be used", "hold A-2201", 1, 1, func(v said) ([]Edit, error) { return LotHeld(v.in, v.args[0], true) }},
	{"free", "LOT", "a lot on hold can be used", "free A-2201", 1, 1, func(v said) ([]Edit, error) { return LotHeld(v.in, v.args[0], false) }},
}

// EditWords reads a what-if in words, such as "down L4 2027-01-11..2027-01-15": a verb of EditVerbs and what stands behind it.
// counted is in with the figures that plans are made with, estimates in place of what was entered: a line that runs at 90% does so of what was
// counted on. today is the first day of the plan. The error is an *EditError. Codes with blanks are not for this: use edits of cells.
func EditWords(in, counted *Input, today calendar.Day, s string) ([]Edit, error) {
	words := strings.Fields(s)
	if len(words) == 0 {
		return nil, &EditError{s, "says nothing", "begin with one of: " + verbNames()}
	}
	for _, v := range EditVerbs {
		if v.Name != strings.ToLower(words[0]) {
			continue
		}
		if n := len(words) - 1; n < v.least || n > v.most {
			return nil, &EditError{s, "is not " + v.Name + " " + v.Args, "write it as: " + v.Example}
		}
		list, err := v.edits(said{in, counted, today, words[1:]})
		if e, ok := err.(*EditError); ok && e.Remedy == "" {
			e.Remedy = "write it as: " + v.Example
		}
		return list, err
	}
	return nil, &EditError{words[0], "is nothing that can happen here", "begin with one of: " + verbNames()}
}

func verbNames() string {
	var list []string
	for _, v := range EditVerbs {
		list = append(list, v.Name)
	}
	return strings.Join(list, ", ")
}

// last is the last word.
func (v said) last() string { return v.args[len(v.args)-1] }

// middle is the second of three words, "" of two.
func (v said) middle() string {
	if len(v.args) == 3 {
		return v.args[1]
	}
	return ""
}

func sayDown(v said) ([]Edit, error) {
	span, err := spanOf(v.last())
	if err != nil {
		return nil, err
	}
	return LineDown(v.in, v.today, v.args[0], span)
}

func sayUp(v said) ([]Edit, error) {
	day := v.today
	if len(v.args) == 2 {
		var err error
		if day, err = dayOf(v.args[1], 0); err != nil {
			return nil, err
		}
	}
	return LineUp(v.in, v.today, v.args[0], day)
}

func pinWords(kind PinKind) func(said) ([]Edit, error) {
	return func(v said) ([]Edit, error) {
		span, err := spanOf(v.last())
		if err == nil {
			err = notOver(v.today, span)
		}
		if err != nil {
			return nil, err
		}
		return PinLine(v.in, kind, v.args[0], v.middle(), span)
	}
}

func sayDelay(v said) ([]Edit, error) {
	d, err := deliveryOf(v.in, v.args[0])
	if err != nil {
		return nil, err
	}
	eta, err := v.comingDay(v.args[1], d.ETA)
	if err != nil {
		return nil, err
	}
	return DeliveryMoved(v.in, d.Code, eta)
}

func saySplit(v said) ([]Edit, error) {
	part, err := quantity.ParseMass(v.args[1], v.in.Plant.Units)
	if err != nil {
		return nil, &EditError{v.args[1], "is no mass", "write it with its unit, such as 8t"}
	}
	d, err := deliveryOf(v.in, v.args[0])
	if err != nil {
		return nil, err
	}
	eta, err := v.comingDay(v.args[2], d.ETA)
	if err != nil {
		return nil, err
	}
	return DeliverySplit(v.in, d.Code, part, eta)
}

func sayLoad(v said) ([]Edit, error) {
	loads := 1
	if m := v.middle(); m != "" {
		var err error
		if loads, err = strconv.Atoi(m); err != nil || loads < 1 || loads > 1000 {
			return nil, &EditError{m, "is no number of loads", "give 1 to 1000"}
		}
	}
	eta, err := v.comingDay(v.last(), 0)
	if err != nil {
		return nil, err
	}
	return LoadAdded(v.in, v.args[0], loads, eta)
}

func sayOrder(v said) ([]Edit, error) {
	o := Order{Profile: v.args[0], Priority: 1}
	var err error
	if o.Length, err = quantity.ParseLength(v.args[1], v.in.Plant.Units); err != nil || o.Length <= 0 {
		return nil, &EditError{v.args[1], "is no length", "write it with its unit, such as 4000m or 4km"}
	}
	if o.Due, err = v.comingDay(v.args[2], 0); err != nil {
		return nil, err
	}
	if len(v.args) == 4 {
		if o.Priority, err = strconv.Atoi(v.args[3]); err != nil || o.Priority < 1 || o.Priority > lastPriority {
			return nil, &EditError{v.args[3], "is no priority", "give 1 to 9"}
		}
	}
	return OrderAdded(v.in, o)
}

func sayMove(v said) ([]Edit, error) {
	if err := known(v.args[0], v.in.Orders, "order", func(o Order) string { return o.Code }); err != nil {
		return nil, err
	}
	var was calendar.Day
	for _, o := range v.in.Orders {
		if o.Code == v.args[0] {
			was = o.Due
		}
	}
	due, err := dayOf(v.args[1], was)
	if err != nil {
		return nil, err
	}
	return OrderMoved(v.in, v.args[0], due)
}

func sayCancel(v said) ([]Edit, error) {
	if err := known(v.args[0], v.in.Orders, "order", func(o Order) string { return o.Code }); err != nil {
		return nil, err
	}
	return []Edit{DropRow(TableOrders, v.args[0])}, nil
}

func sayRate(v said) ([]Edit, error) {
	factor, err := factorOf(v.last())
	if err != nil {
		return nil, err
	}
	return RateChanged(v.counted, v.args[0], v.middle(), factor)
}

func sayYield(v said) ([]Edit, error) {
	share, err := factorOf(v.last())
	if err != nil {
		return nil, err
	}
	return YieldChanged(v.in, v.counted, v.args[0], v.middle(), quantity.Share(share))
}

func sayCrew(v said) ([]Edit, error) {
	n, err := strconv.ParseFloat(v.args[0], 64)
	if err != nil || !(n > 0) || n > 1e5 {
		return nil, &EditError{v.args[0], "is no number of people", "give more than 0, up to 100000"}
	}
	return CrewChanged(n), nil
}

func sayClose(v said) ([]Edit, error) {
	span, err := spanOf(v.args[0])
	if err == nil {
		err = notOver(v.today, span)
	}
	if err != nil {
		return nil, err
	}
	return ClosureAdded(v.in, span), nil
}

// dayOf reads a day, or +DAYS and -DAYS counted from a day that is known.
func dayOf(s string, was calendar.Day) (calendar.Day, error) {
	if was != 0 && strings.ContainsAny(s[:1], "+-") {
		if n, err := strconv.Atoi(strings.TrimSuffix(s, "d")); err == nil && -3660 < n && n < 3660 {
			return was + calendar.Day(n), nil
		}
	}
	d, err := calendar.ParseDay(s)
	if err != nil {
		return 0, &EditError{s, "is no day of the form YYYY-MM-DD", ""}
	}
	return d, nil
}

// comingDay is dayOf for a day on which something is to come or to be due: none before the plan begins.
func (v said) comingDay(s string, was calendar.Day) (calendar.Day, error) {
	d, err := dayOf(s, was)
	if err == nil {
		err = notOver(v.today, calendar.Span{From: d, To: d + 1})
	}
	return d, err
}

// spanOf reads FIRST..LAST, or one day.
func spanOf(s string) (calendar.Span, error) {
	from, to, ok := strings.Cut(s, "..")
	if !ok {
		to = from
	}
	a, errA := calendar.ParseDay(from)
	b, errB := calendar.ParseDay(to)
	if errA != nil || errB != nil {
		return calendar.Span{}, &EditError{s, "are no days of the form FIRST..LAST", ""}
	}
	if b < a {
		return calendar.Span{}, &EditError{s, fmt.Sprintf("ends before it begins, on %s", b), "give the earlier day first"}
	}
	return calendar.Span{From: a, To: b + 1}, nil
}

// factorOf reads 0.9 or 90%.
func factorOf(s string) (float64, error) {
	num, percent := strings.CutSuffix(s, "%")
	if strings.HasPrefix(s, "+") || strings.HasPrefix(s, "-") {
		return 0, &EditError{s, "has a sign", "write what is left or reached: 90% for a tenth less, 110% for a tenth more"}
	}
	x, err := strconv.ParseFloat(num, 64)
	if percent {
		x /= 100
	}
	if err != nil || !(x > 0) || x > 10 {
		return 0, &EditError{s, "is no share", "write it as 90% or 0.9"}
	}
	return x, nil
}
