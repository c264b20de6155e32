package planner

import (
	"context"
	"fmt"
	"math"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
	"feedline/lines/calendar"
)

// Offer is the answer to an enquiry.
type Offer struct {
	Profile string
	Length  quantity.Length
	Day     calendar.Day // last day of the first bucket in which it can be complete with the loads as planned; 0 = not within the horizon
	Limit   Resource     // what keeps it from being sooner; OfTime where nothing does
	Words   string

	// Wider are days that are sooner than Day and than one another, for what they take: more loads, then forecasts made later too, at first by campaigns that there are.
	Wider []WiderOffer
}

// WiderOffer is a day by which an enquiry can be complete if more is done than what is planned.
type WiderOffer struct {
	Day       calendar.Day
	Limit     Resource // what keeps it from being sooner still
	Words     string
	Loads     []MoreLoads // to be ordered beside the plan's, by order day, then lane
	Cost      quantity.Money
	Displaced []Displaced // forecasts that come later for it; the orders' days stand
}

// MoreLoads are whole loads of a lane that an enquiry takes beside those planned.
type MoreLoads struct {
	Purchase
	Material string
	Landed   quantity.MassPrice // a kilogram of pellets made of it
}

// Displaced is forecast demand that is met later than planned.
type Displaced struct {
	Profile string
	Length  quantity.Length // the most that is owed beyond what the plan owes
	Until   calendar.Day    // last day of the last bucket in which more is owed than in the plan
	Never   quantity.Length // still owed at the horizon's end
}

// Promise is the earliest day by which so many metres of a profile can be complete without making any order of p later or less complete;
// on a large plant the earliest that a search of bounded work finds. The lines that can make the profile are free to be crewed and changed otherwise than in p;
// the other lines are as in p. All loads are as in p too, but where more of them, ordered from the later of the plan's start and the date of opt.Now on,
// make it sooner, Wider tells them; and where that comes sooner still, with forecasts of the profiles made on those lines put off. So a plan
// that keeps the promise exists.
// p must be a plan of in under opt. Errors as for Make, and an *EditError for a profile or a length that can't be asked for.
func Promise(ctx context.Context, in *Input, opt Options, p *Plan, profile string, length quantity.Length) (Offer, error) {
	none := Offer{Profile: profile, Length: length}
	fa, err := prepareFacts(in, opt)
	if err != nil {
		return none, err
	}
	i, ok := fa.profileAt[profile]
	if !ok {
		return none, known(profile, in.Profiles, "profile", func(p lines.Profile) string { return p.Code })
	}
	if !(length > 0) || length > 1e9 {
		return none, &EditError{figure(float64(length)) + " m", "is no length to ask for", "give more than 0 m"}
	}
	e, err := enquire(ctx, fa, p, i, float64(length))
	if err != nil {
		return none, err
	}
	return e.offer(ctx, none)
}

// offer answers with the loads as planned, then with more of them, then with forecasts displaced, by amounts alone and by campaigns more.
func (e *enquiry) offer(ctx context.Context, o Offer) (Offer, error) {
	a, err := e.earliest(ctx, len(e.owed))
	if err != nil {
		return o, err
	}
	o.Day, o.Limit = e.dayOf(a.t), a.limit
	o.Words = e.words(o.Limit, a.proven)
	today := StartDay(e.f.in, Options{Now: e.f.opt.Now})
	for _, widen := range []func(){func() { e.freeLoads(max(today, e.f.start)) }, e.freeForecasts, e.freeCampaigns} {
		if a.t == 0 {
			break
		}
		if widen(); e.asBefore {
			continue
		}
		b, err := e.earliest(ctx, a.t)
		if err != nil {
			return o, err
		}
		if b.t < a.t {
			w := WiderOffer{Day: e.dayOf(b.t), Limit: b.limit, Words: e.words(b.limit, b.proven)}
			w.Loads, w.Cost = e.moreLoads(b.x)
			w.Displaced = e.displaced(b.x)
			if len(w.Displaced) == 0 && o.Limit == OfSetups && !a.proven { // more feed alone brings it
				o.Limit, o.Words = OfPellets, e.words(OfPellets, false)
			}
			o.Wider = append(o.Wider, w)
			a = b
		}
	}
	return o, nil
}

func (e *enquiry) dayOf(t int) calendar.Day {
	if t >= len(e.f.buckets) {
		return 0
	}
	return e.f.buckets[t].Span.To - 1
}

// words says what keeps an enquiry from being sooner.
func (e *enquiry) words(limit Resource, proven bool) string {
	code := e.f.in.Profiles[e.profile].Code
	switch {
	case limit == OfTime:
		return "nothing: it can be made at once"
	case limit == OfSetups && proven:
		return fmt.Sprintf("set-ups: no campaign of %s fits in sooner without making an order late", code)
	case limit == OfSetups:
		return fmt.Sprintf("set-ups: no campaign of %s was found that fits in sooner without making an order late", code)
	}
	return e.f.whyWords(OrderResult{Profile: code, Due: e.f.start}, limit)
}

// moreLoads lists the loads of x beyond the plan's.
func (e *enquiry) moreLoads(x []float64) (list []MoreLoads, cost quantity.Money) {
	f := e.f
	for t := range f.buckets {
		for s, lane := range f.in.Lanes {
			r := f.loads[s][t]
			if !r.is {
				continue
			}
			n := int(math.Round(x[r.v]) - math.Round(e.planned[r.v]))
			if n < 1 {
				continue
			}
			l := MoreLoads{Purchase: f.purchase(s, t, n), Material: lane.Material, Landed: inventory.LandedCost(lane, quantity.Share(f.paths[f.materialAt[lane.Material]].yield))}
			list, cost = append(list, l), cost+l.Cost
		}
	}
	return list, cost
}

// displaced lists the forecasts that x owes for longer than the plan does.
func (e *enquiry) displaced(x []float64) (list []Displaced) {
	for i := range e.f.in.Profiles {
		later := e.later[i]
		d := Displaced{Profile: e.f.in.Profiles[i].Code}
		for t, r := range later {
			if more := quantity.Length(r.at(x)); more > displacedLeast {
				d.Length, d.Until = max(d.Length, more), e.dayOf(t)
				if t == len(e.owed)-1 {
					d.Never = more
				}
			}
		}
		if d.Length > 0 {
			list = append(list, d)
		}
	}
	return list
}

// displacedLeast is the length below which it is not told that a forecast comes later.
const displacedLeast quantity.Length = 0.5
