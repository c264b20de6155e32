package records

import (
	"cmp"
	"slices"

	"feedline/planner"
)

// Trace follows mass by classes through silos, regrind and racks, entry by entry in the order of days. A pool is taken to be well
// mixed: what leaves it has the mixture that it has at that moment. classOf is the class of a lot, from 0 to classes − 1; the
// last class is what is of unknown origin: stock from before the records begin, and differences that counts found. Own regrind keeps its
// mixture, or becomes the class regrind if that is not negative, as does what there was of it before. visit is told of each move into
// an account, with its grams by class; it must not keep the slice. Entries need their moves; reversed ones and reversals are left out.
//
// in is the plant as the entries have left it: what it has beyond them was there before. It returns what is left in each pool, by class.
func Trace(in *planner.Input, list []Entry, classes int, classOf func(lot string) int, regrind int, visit func(Entry, Move, []float64)) []Pool {
	t := tracing{classes: classes, classOf: classOf, regrind: regrind, pools: map[moveKey][]float64{}}
	for k, grams := range opening(in, list) {
		class := classes - 1
		if k.account == InRegrind && regrind >= 0 {
			class = regrind
		}
		t.pool(Move{Account: k.account, Code: k.code})[class] += float64(grams)
	}
	for _, e := range InOrder(list) {
		t.entry(e, visit)
	}
	var out []Pool
	for k, mix := range t.pools {
		out = append(out, Pool{k.account, k.code, mix})
	}
	slices.SortFunc(out, func(a, b Pool) int { return cmp.Or(cmp.Compare(a.Account, b.Account), cmp.Compare(a.Code, b.Code)) })
	return out
}

// Pool is what is left in an account, grams by class.
type Pool struct {
	Account Account
	Code    string
	Mix     []float64
}

// InOrder is the entries that stand, by day and within a day by kind.
func InOrder(list []Entry) []Entry {
	var out []Entry
	for _, e := range list {
		if e.Counts() {
			out = append(out, e)
		}
	}
	slices.SortStableFunc(out, func(a, b Entry) int {
		return cmp.Or(cmp.Compare(a.Head.Day, b.Head.Day), cmp.Compare(slices.Index(Kinds, a.Head.Kind), slices.Index(Kinds, b.Head.Kind)), cmp.Compare(a.ID, b.ID))
	})
	return out
}

type tracing struct {
	classes, regrind int
	classOf          func(string) int
	pools            map[moveKey][]float64
}

func (t *tracing) entry(e Entry, visit func(Entry, Move, []float64)) {
	mix, total := make([]float64, t.classes), 0.0
	for _, m := range e.Moves {
		if m.Grams < 0 {
			t.take(m, mix)
			total -= float64(m.Grams)
		}
	}
	if total == 0 {
		return
	}
	part := make([]float64, t.classes)
	for _, m := range e.Moves {
		if m.Grams <= 0 {
			continue
		}
		for i := range part {
			part[i] = mix[i] * float64(m.Grams) / total
		}
		if m.Account == InRegrind && t.regrind >= 0 {
			clear(part)
			part[t.regrind] = float64(m.Grams)
		}
		if pooled(m.Account) {
			p := t.pool(m)
			for i, x := range part {
				p[i] += x
			}
		}
		visit(e, m, part)
	}
}

func (t *tracing) pool(m Move) []float64 {
	k := moveKey{m.Account, m.Code}
	if t.pools[k] == nil {
		t.pools[k] = make([]float64, t.classes)
	}
	return t.pools[k]
}

// take adds to mix what a move takes: of a lot its class, of a pool its mixture, and of what a pool does not have the unknown.
func (t *tracing) take(m Move, mix []float64) {
	want, unknown := -float64(m.Grams), t.classes-1
	switch m.Account {
	case InLot:
		mix[t.classOf(m.Code)] += want
	case InPellets, InRegrind, InProfile:
		p, have := t.pool(m), 0.0
		for _, x := range p {
			have += x
		}
		share := 1.0
		if have > want {
			share = want / have
		} else {
			mix[unknown] += want - have
		}
		for i, x := range p {
			mix[i] += x * share
			p[i] = x - x*share
		}
	case Outside: // a receipt: its lot's class counts when it is drawn
		mix[unknown] += want
	default:
		mix[unknown] += want
	}
}
