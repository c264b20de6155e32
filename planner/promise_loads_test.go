package planner_test

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// hutch is a shed for P0 alone, so that no die is changed, with pellets for some of it and two lanes for more.
type hutch struct {
	shed
	pellets float64 // kg
	lanes   [2]inventory.Lane
}

func drawHutch(t *rapid.T) hutch {
	h := hutch{shed: drawShed(t), pellets: float64(100 * rapid.IntRange(0, 20).Draw(t, "pellets"))}
	h.demand[1], h.stock[1] = [7]float64{}, 0
	for s := range h.lanes {
		l := inventory.Lane{Code: []string{"near", "far"}[s], Supplier: "S", Material: "M", Mode: inventory.Trailer, Load: quantity.Mass(50 * rapid.IntRange(2, 20).Draw(t, "load")),
			MinLoads: rapid.IntRange(0, 2).Draw(t, "least"), LoadsAWeek: float64(rapid.IntRange(1, 3).Draw(t, "a week")), Price: quantity.MassPrice(rapid.IntRange(1, 3).Draw(t, "price")),
			Freight:  quantity.Money(10 * rapid.IntRange(1, 90).Draw(t, "freight")),
			LeadTime: inventory.LeadTime{Distribution: inventory.Fixed, Mean: float64(rapid.IntRange(1, 4).Draw(t, "lead"))}}
		for d := range 7 {
			l.OrderDays[d] = rapid.IntRange(0, 2).Draw(t, "takes orders") > 0
		}
		h.lanes[s] = l
	}
	return h
}

func (h hutch) input() *planner.Input {
	in := h.shed.input()
	in.Stock[0].Mass = quantity.Mass(h.pellets)
	in.Suppliers = []inventory.Supplier{{Code: "S", Name: "S"}}
	in.Lanes = h.lanes[:]
	return in
}

// most is what a lane takes in a week.
func most(l inventory.Lane) int { return max(int(l.LoadsAWeek), l.MinLoads, 1) }

// orders are all that can be ordered on a lane over the week from a day on beside what is planned: loads by day.
func orders(l inventory.Lane, planned [7]int, from int) (list [][7]int) {
	var add func(d int, more [7]int, total int)
	add = func(d int, more [7]int, total int) {
		if d == 7 {
			list = append(list, more)
			return
		}
		for n := 0; total+n <= most(l); n++ {
			if n > 0 && (d < from || !l.TakesOrders(monday+calendar.Day(d)) || d+int(l.LeadTime.Mean) > 6) {
				break
			}
			if all := planned[d] + n; all > 0 && all < l.MinLoads {
				continue
			}
			more[d] = n
			add(d+1, more, total+n)
		}
	}
	total := 0
	for _, n := range planned {
		total += n
	}
	add(0, [7]int{}, total)
	return list
}

// first is the first day at whose end the enquiry can be complete with the feed that is there by each day, 7 for none: as much as feed and hours
// allow is made on each.
func (h hutch) first(p *planner.Plan, metres float64, feed [7]float64) int {
	for day := range 7 {
		w, made, ok := h.wanted(p, 0, metres, day), 0.0, true
		for t := range 7 {
			made = min(feed[t]/0.5, made+24*h.rate[0])
			ok = ok && made >= w[0][t]-1e-6
		}
		if ok {
			return day
		}
	}
	return 7
}

// TestPromiseWithLoadsIsTheEarliestOfAllOrders: the day promised, with the loads as planned and with more, is the first of all that can be ordered on
// the two lanes within their order days, least orders and loads a week, and the loads told are the cheapest that do it.
func TestPromiseWithLoadsIsTheEarliestOfAllOrders(t *testing.T) {
	promiseWithLoads(t, 8)
}

// The way of large plants comes to the same here, where no die is changed.
func TestPromiseWithLoadsByCampaigns(t *testing.T) {
	defer planner.PromiseByCampaigns()()
	promiseWithLoads(t, 8)
}

func promiseWithLoads(t *testing.T, n int) {
	draws(t, n)
	widened := 0
	rapid.Check(t, func(t *rapid.T) {
		h := drawHutch(t)
		p := auditedFor(t, h.input(), exact())
		metres, today := float64(50*rapid.IntRange(1, 120).Draw(t, "enquired"))+7, rapid.IntRange(0, 2).Draw(t, "today")
		var feed [7]float64
		var planned [2][7]int
		for d := range feed {
			feed[d] = h.pellets
		}
		deliver := func(feed *[7]float64, s int, n [7]int) (cost float64) {
			l := h.lanes[s]
			for d := range n {
				for t := d + int(l.LeadTime.Mean); t < 7; t++ {
					feed[t] += float64(n[d]) * float64(l.Load)
				}
				cost += float64(n[d]) * float64(l.LoadCost())
			}
			return cost
		}
		for _, b := range p.Purchases {
			for s, l := range h.lanes {
				if l.Code == b.Lane {
					planned[s][b.Bucket] += b.Loads
				}
			}
		}
		for s := range h.lanes {
			deliver(&feed, s, planned[s])
		}
		asPlanned := h.first(p, metres, feed)
		best, least := asPlanned, 0.0
		for _, near := range orders(h.lanes[0], planned[0], today) {
			for _, far := range orders(h.lanes[1], planned[1], today) {
				f := feed
				cost := deliver(&f, 0, near) + deliver(&f, 1, far)
				if d := h.first(p, metres, f); d < best || d == best && cost < least && best < asPlanned {
					best, least = d, cost
				}
			}
		}
		opt := exact()
		opt.Now = opt.Now.AddDate(0, 0, today)
		got, err := planner.Promise(context.Background(), h.input(), opt, p, "P0", quantity.Length(metres))
		if err != nil {
			t.Fatal(err)
		}
		day := func(d int) calendar.Day {
			if d == 7 {
				return 0
			}
			return monday + calendar.Day(d)
		}
		if got.Day != day(asPlanned) {
			t.Fatalf("%.0f m are promised for %v (%s) with the loads as planned, want %v: %+v", metres, got.Day, got.Words, day(asPlanned), h)
		}
		if best == asPlanned {
			if len(got.Wider) > 0 {
				t.Fatalf("%.0f m: more loads are told to bring %v, no order brings anything: %+v", metres, got.Wider, h)
			}
			return
		}
		widened++
		if len(got.Wider) != 1 || got.Wider[0].Day != day(best) {
			t.Fatalf("%.0f m: with more loads %+v, want %v with loads for %.0f: %+v", metres, got.Wider, day(best), least, h)
		}
		w := got.Wider[0]
		if math.Abs(float64(w.Cost)-least) > 2e-3*least {
			t.Errorf("%.0f m by %v: loads for %.2f are told, the cheapest cost %.2f: %+v, %+v", metres, w.Day, w.Cost, least, w.Loads, h)
		}
		f := feed
		for _, l := range w.Loads {
			for s := range h.lanes {
				if h.lanes[s].Code == l.Lane {
					n := [7]int{}
					n[int(l.OrderBy-monday)] = l.Loads
					deliver(&f, s, n)
					if want := l.OrderBy + calendar.Day(h.lanes[s].LeadTime.Mean); l.Arrives != want || !h.lanes[s].TakesOrders(l.OrderBy) || int(l.OrderBy-monday) < today {
						t.Errorf("a load on %s ordered on %v arrives on %v, want %v", l.Lane, l.OrderBy, l.Arrives, want)
					}
				}
			}
		}
		if d := h.first(p, metres, f); day(d) > w.Day {
			t.Errorf("the loads told make it by %v, not %v", day(d), w.Day)
		}
	})
	if widened == 0 {
		t.Error("no plant was drawn on which more loads bring anything")
	}
}

// TestPromiseDisplacesForecasts: a line is full with a forecast, so that an enquiry comes in only in its place. Orders keep their days.
func TestPromiseDisplacesForecasts(t *testing.T) {
	s := shed{rate: [2]float64{100, 100}, setup: 1, cost: 1, price: [2]float64{2, 2}}
	s.demand[0][3] = 4800
	in := s.input()
	in.Forecasts = []planner.Forecast{{Profile: "P0", From: monday, To: monday + 7, Length: 4800 + 12000}}
	p := audited(t, in, exact())
	got, err := planner.Promise(context.Background(), in, exact(), p, "P0", 2400)
	if err != nil {
		t.Fatal(err)
	}
	if got.Day != 0 || got.Limit != planner.OfLineHour {
		t.Errorf("with nothing displaced: %v, bound by %s, want no day, bound by line hours", got.Day, got.Limit)
	}
	// 7 days × 24 h × 100 m/h are 16,800 m, all of it planned; the order needs 4,800 m by Thursday, the enquiry gets the first day's
	if len(got.Wider) != 1 || got.Wider[0].Day != monday || len(got.Wider[0].Loads) > 0 {
		t.Fatalf("wider: %+v, want %v without loads", got.Wider, monday)
	}
	d := got.Wider[0].Displaced
	if len(d) != 1 || d[0].Profile != "P0" || math.Abs(float64(d[0].Length)-2400) > 1 || math.Abs(float64(d[0].Never)-2400) > 1 || d[0].Until != monday+6 {
		t.Errorf("displaced: %+v, want 2,400 m of P0 for good", d)
	}
}

// TestPromiseByCampaignsIsKept: the way of large plants answers with a day that a sequence of dies keeps, none sooner than the best of all and
// none later than the plan's own dies allow.
func TestPromiseByCampaignsIsKept(t *testing.T) {
	defer planner.PromiseByCampaigns()()
	draws(t, 6)
	rapid.Check(t, func(t *rapid.T) {
		s := drawShed(t)
		p := auditedFor(t, s.input(), exact())
		q, metres := rapid.IntRange(0, 1).Draw(t, "profile"), float64(50*rapid.IntRange(1, 120).Draw(t, "enquired"))+7
		own := 0
		for _, r := range p.Runs {
			if r.Changeover {
				own |= 1 << r.Bucket
			}
		}
		best, asIs := 7, 7
		for pattern := range 1 << 7 {
			for best > 0 && s.fits(pattern, s.wanted(p, q, metres, best-1)) {
				best--
			}
		}
		for asIs > 0 && s.fits(own, s.wanted(p, q, metres, asIs-1)) {
			asIs--
		}
		o, err := planner.Promise(context.Background(), s.input(), exact(), p, shedProfiles[q], quantity.Length(metres))
		if err != nil {
			t.Fatal(err)
		}
		got := 7
		if o.Day != 0 {
			got = int(o.Day - monday)
		}
		if got < best || got > asIs {
			t.Fatalf("%.0f m of %s on day %d (%s), want from %d, the best of all, to %d, with the plan's dies: %+v", metres, shedProfiles[q], got, o.Words, best, asIs, s)
		}
	})
}
