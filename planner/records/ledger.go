package records

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"feedline/inventory"
	"feedline/lines"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/yield"
)

// Refused says why a record can't be booked. Nothing of its batch was.
type Refused struct {
	Index    int // of the record in the batch; −1 for a reversal
	Problems []planner.Problem
}

func (e *Refused) Error() string {
	s := e.Problems[0].String()
	if n := len(e.Problems) - 1; n > 0 {
		s += fmt.Sprintf(" (and %d more)", n)
	}
	return s
}

// Hint is what to do.
func (e *Refused) Hint() string { return "nothing was recorded; correct it and record it again" }

// Ledger books records against a plant: its lots, stock, deliveries, orders and lines follow, unless a record is history.
type Ledger struct {
	// Today is the day of the clock, at the plant: days that can't be right are warned of. 0 = not known.
	Today calendar.Day

	in         *planner.Input
	lots       map[string]int
	stock      map[stockKey]int
	deliveries map[string]int
	orders     map[string]int
	lanes      map[string]inventory.Lane
	materials  map[string]inventory.Material
	steps      map[string]yield.Step
	profiles   map[string]lines.Profile
	fits       map[[2]string]lines.Fit
	reasons    map[string]lines.StopKind
	lineAt     map[string]int
	counted    map[moveKey]lastCount // latest counts that stand
	ran        map[string][]ran      // standing runs by line, the latest last
	grades     map[string]bool
	suppliers  map[string]bool
	results    map[string]inventory.Results // latest by lot
	known      map[string]string            // material of every lot that was ever received
	told       map[string]bool              // lots whose receipt is recorded
	seen       map[twin]once                // records that would not be there twice
	faults     []planner.Problem            // of the record being booked
	warnings   []planner.Problem
	head       Head
	moves      map[moveKey]Move
	history    bool
}

type stockKey struct {
	kind inventory.StockKind
	code string
}

type moveKey struct {
	account Account
	code    string
}

// NewLedger books against a copy of the tables of in that records change; the others are shared and not changed.
func NewLedger(in *planner.Input) *Ledger {
	own := *in
	own.Lots, own.Stock = slices.Clone(in.Lots), slices.Clone(in.Stock)
	own.Deliveries, own.Orders, own.Lines = slices.Clone(in.Deliveries), slices.Clone(in.Orders), slices.Clone(in.Lines)
	l := &Ledger{in: &own, stock: map[stockKey]int{}, results: map[string]inventory.Results{}, known: map[string]string{},
		told: map[string]bool{}, seen: map[twin]once{}, fits: map[[2]string]lines.Fit{},
		ran: map[string][]ran{}, counted: map[moveKey]lastCount{}, reasons: map[string]lines.StopKind{}}
	l.lots = places(own.Lots, func(r inventory.Lot) string { return r.Code })
	l.deliveries = places(own.Deliveries, func(r inventory.Delivery) string { return r.Code })
	l.lineAt = places(own.Lines, func(r lines.Line) string { return r.Code })
	l.orders = places(own.Orders, func(r planner.Order) string { return r.Code })
	for i, s := range own.Stock {
		l.stock[stockKey{s.Kind, s.Code}] = i
	}
	l.lanes = byCode(in.Lanes, func(r inventory.Lane) string { return r.Code })
	l.materials = byCode(in.Materials, func(r inventory.Material) string { return r.Code })
	l.steps = byCode(in.Steps, func(r yield.Step) string { return r.Code })
	l.profiles = byCode(in.Profiles, func(r lines.Profile) string { return r.Code })
	for _, r := range in.Reasons {
		l.reasons[r.Code] = r.Kind
	}
	l.grades = codeSet(in.Grades, func(r inventory.Grade) string { return r.Code })
	l.suppliers = codeSet(in.Suppliers, func(r inventory.Supplier) string { return r.Code })
	for _, f := range in.Fits {
		l.fits[[2]string{f.Line, f.Profile}] = f
	}
	for _, x := range own.Lots {
		l.known[x.Code] = x.Material
	}
	return l
}

func places[T any](list []T, code func(T) string) map[string]int {
	m := make(map[string]int, len(list))
	for i, r := range list {
		m[code(r)] = i
	}
	return m
}

func byCode[T any](list []T, code func(T) string) map[string]T {
	m := make(map[string]T, len(list))
	for _, r := range list {
		m[code(r)] = r
	}
	return m
}

func codeSet[T any](list []T, code func(T) string) map[string]bool {
	m := make(map[string]bool, len(list))
	for _, r := range list {
		m[code(r)] = true
	}
	return m
}

// Input is the plant as the records have left it.
func (l *Ledger) Input() *planner.Input { return l.in }

// Remember tells the ledger of an earlier receipt, test or count that stands, in the order they were entered.
func (l *Ledger) Remember(r Record) {
	switch r := r.(type) {
	case Receipt:
		l.known[r.Lot], l.told[r.Lot] = r.Material, true
		l.learn(r.Lot, r.Results())
	case Test:
		l.learn(r.Lot, r.Results())
	case Count:
		l.learnCount(r)
	}
}

func (l *Ledger) learn(lot string, r inventory.Results) {
	if len(r) == 0 {
		return
	}
	if l.results[lot] == nil {
		l.results[lot] = inventory.Results{}
	}
	maps.Copy(l.results[lot], r)
}

// Over is why a lot must wait by its results, nil if it may be fed.
func (l *Ledger) Over(lot string) []string { return inventory.Over(l.in.Limits, l.results[lot]) }

// Post books a record. The record that is returned has its blanks filled in; moves add up to zero and are sorted.
// history books nothing against stock, lots, deliveries and orders. A record that can't be booked is refused with a *Refused.
func (l *Ledger) Post(r Record, history bool) (Record, []Move, []planner.Problem, error) {
	l.begin(r.Head(), history)
	for _, p := range r.Check() {
		l.add(p.Field, p.Value, p.Allowed, p.Remedy, p.Warning)
	}
	l.checkDay()
	if len(l.faults) == 0 {
		switch x := r.(type) {
		case Receipt:
			r = l.receipt(x)
		case Test:
			r = l.test(x)
		case Process:
			r = l.process(x)
		case Run:
			r = l.run(x)
		case Count:
			r = l.count(x)
		case ETAChange:
			r = l.eta(x)
		case Shipment:
			r = l.shipment(x)
		default:
			panic("records: record of no kind")
		}
	}
	if len(l.faults) > 0 {
		return nil, nil, nil, &Refused{Problems: l.faults}
	}
	return r, l.settled(), l.warnings, nil
}

// usualDays is how many days a record may lie back, or an ETA ahead, before its year is doubted.
const usualDays = 366

// checkDay warns of a day that is most likely mistyped: what is still to come has not happened, and few things are written down a year later.
func (l *Ledger) checkDay() {
	switch day := l.head.Day; {
	case l.Today == 0 || len(l.faults) > 0:
	case day > l.Today:
		l.warn("Day", day.String(), l.Today.String()+", today, or earlier", "if the day is wrong, reverse the entry and record it again")
	case !l.history && l.Today-day > usualDays:
		l.warn("Day", day.String(), "as a rule a day of the last year", "if the day is wrong, reverse the entry and record it again")
	}
}

func (l *Ledger) begin(h Head, history bool) {
	l.head, l.history = h, history
	l.faults, l.warnings, l.moves = nil, nil, map[moveKey]Move{}
}

// add notes a problem of the record being booked.
func (l *Ledger) add(field, value, allowed, remedy string, warning bool) {
	table := TableOf(l.head.Kind)
	p := planner.Problem{Table: table, Key: l.head.Code, Value: value, Allowed: allowed, Remedy: remedy, Warning: warning}
	if field != "" {
		p.Field = planner.FieldName(table, field)
	}
	if warning {
		l.warnings = append(l.warnings, p)
	} else {
		l.faults = append(l.faults, p)
	}
}

func (l *Ledger) fault(field, value, allowed, remedy string) {
	l.add(field, value, allowed, remedy, false)
}
func (l *Ledger) warn(field, value, allowed, remedy string) {
	l.add(field, value, allowed, remedy, true)
}

// refer asks for a code that there is.
func refer[T any](l *Ledger, field, code, what string, codes map[string]T) bool {
	if _, ok := codes[code]; ok {
		return true
	}
	remedy := "there are none yet"
	if len(codes) > 0 {
		remedy = "enter it first, or correct the code"
		list := slices.Sorted(maps.Keys(codes))
		if near, ok := planner.Nearest(code, list); ok {
			remedy = fmt.Sprintf("did you mean %q?", near)
		} else if len(list) <= 8 {
			remedy = "there are: " + strings.Join(list, ", ")
		}
	}
	l.fault(field, fmt.Sprintf("%q", code), "the code of "+what, remedy)
	return false
}

// move adds grams and millimetres to an account, and takes them from nowhere: the other side is moved by its own call.
func (l *Ledger) move(a Account, code string, grams, millis int64) {
	k := moveKey{a, code}
	m := l.moves[k]
	l.moves[k] = Move{a, code, m.Grams + grams, m.Millis + millis}
}

// settled is the moves of the record, those of nothing left out; it panics unless they add up to zero.
func (l *Ledger) settled() []Move {
	var list []Move
	sum := int64(0)
	for _, m := range l.moves {
		sum += m.Grams
		if m.Grams != 0 || m.Millis != 0 {
			list = append(list, m)
		}
	}
	if sum != 0 {
		panic("records: an entry's grams do not add up to zero")
	}
	slices.SortFunc(list, func(a, b Move) int { return cmp.Or(cmp.Compare(a.Account, b.Account), cmp.Compare(a.Code, b.Code)) })
	return list
}

// TableOf is the name of a kind's table and sheet.
func TableOf(k Kind) string {
	switch k {
	case KindReceipt:
		return planner.TableReceipts
	case KindTest:
		return planner.TableTests
	case KindProcess:
		return planner.TableProcessRuns
	case KindRun:
		return planner.TableRuns
	case KindCount:
		return planner.TableCounts
	case KindETA:
		return planner.TableETAChanges
	case KindShipment:
		return planner.TableShipments
	}
	return "entries"
}

// Told reports whether a lot's receipt or a test of it is recorded.
func (l *Ledger) Told(lot string) bool { return l.told[lot] || len(l.results[lot]) > 0 }
