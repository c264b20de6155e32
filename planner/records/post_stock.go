package records

import (
	"fmt"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines"
)

// run uses pellets and gives metres; scrap comes back as regrind of the grade as far as it is recovered. Its line follows.
func (l *Ledger) run(r Run) Record {
	known := refer(l, "Profile", r.Profile, "a profile", l.profiles)
	fit, runs := l.fits[[2]string{r.Line, r.Profile}]
	if known && !runs {
		l.fault("Line", fmt.Sprintf("%q", r.Line), "a line that has a rate for "+r.Profile, "enter it in rates, or correct the line or the profile")
	}
	for _, s := range r.Stops {
		refer(l, "Stops", s.Reason, "a reason", l.reasons)
	}
	if len(l.faults) > 0 {
		return r
	}
	p := l.profiles[r.Profile]
	l.checkRate(r, p, fit)
	scrap := Grams(r.Scrap)
	good := Grams(quantity.Mass(float64(r.Good) * float64(p.PerMetre)))
	if r.Fed > 0 {
		good = Grams(r.Fed) - scrap
		l.checkMass(r, MassOf(good))
	}
	back := Grams(r.Scrap * quantity.Mass(l.in.Plant.RegrindYield))
	l.post(InPellets, p.Grade, -good-scrap)
	l.postLength(r.Profile, good, Millis(r.Good))
	l.post(InRegrind, p.Grade, back)
	l.move(Loss, r.Line, scrap-back, 0)
	if !l.history {
		l.follow(r)
	}
	return r
}

// checkRate warns of more metres than the line could make in the hours, by its rate: a digit too many, or hours too few.
func (l *Ledger) checkRate(r Run, p lines.Profile, f lines.Fit) {
	f.Availability, f.Quality = 1, 1
	most := lines.Rate(p, f).MetresPerDay(r.Run)
	const usual = 1.5
	if most > 0 && r.Good > usual*most {
		l.warn("Good", r.Good.Format(quantity.Metric, 1), fmt.Sprintf("as a rule no more than %s in %s, by the rate of %s", most.Format(quantity.Metric, 0), r.Run.Format(2), r.Line),
			"check metres and hours; if one is wrong, reverse the entry and record it again")
	}
}

// checkMass warns where pellets weighed do not go with the metres.
func (l *Ledger) checkMass(r Run, good quantity.Mass) {
	nominal := float64(r.Good) * float64(l.profiles[r.Profile].PerMetre)
	const usual = 0.15
	if nominal > 0 && (float64(good) > nominal*(1+usual) || float64(good) < nominal*(1-usual)) {
		l.warn("Fed", r.Fed.Format(quantity.Metric, 1), fmt.Sprintf("as a rule about %s with the scrap", quantity.Mass(nominal+float64(r.Scrap)).Format(quantity.Metric, 1)),
			"are metres, scrap and pellets of the same hours?")
	}
}

// shipment takes profile off the rack and off its order.
func (l *Ledger) shipment(r Shipment) Record {
	i, ordered := l.orders[r.Order]
	switch {
	case ordered && r.Profile != "" && r.Profile != l.in.Orders[i].Profile:
		l.fault("Profile", fmt.Sprintf("%q", r.Profile), fmt.Sprintf("%q, the profile of order %s", l.in.Orders[i].Profile, r.Order), "")
	case ordered:
		r.Profile = l.in.Orders[i].Profile
	case r.Order != "" && !l.history:
		refer(l, "Order", r.Order, "an order", l.orders)
	}
	if len(l.faults) > 0 || !refer(l, "Profile", r.Profile, "a profile", l.profiles) {
		return r
	}
	mm := Millis(r.Length)
	if ordered && !l.history {
		o := &l.in.Orders[i]
		left := Millis(o.Length) - mm
		if left < 0 {
			l.fault("Length", r.Length.Format(quantity.Metric, 1), "no more than is still to be delivered, "+o.Length.Format(quantity.Metric, 1),
				"record the rest without an order, or raise the order first")
			return r
		}
		o.Length = LengthOf(left)
	}
	grams := Grams(quantity.Mass(float64(r.Length) * float64(l.profiles[r.Profile].PerMetre)))
	l.move(Outside, orElse(r.Order, "customers"), grams, mm)
	l.postLength(r.Profile, -grams, -mm)
	return r
}

// count sets stock to what was found and books the difference.
func (l *Ledger) count(r Count) Record {
	switch r.Counted {
	case InLot:
		refer(l, "Item", r.Item, "a lot", l.known)
	case InProfile:
		refer(l, "Item", r.Item, "a profile", l.profiles)
	default:
		refer(l, "Item", r.Item, "a grade", l.grades)
	}
	if len(l.faults) > 0 {
		return r
	}
	if !l.history {
		if r.Counted == InLot {
			if _, here := l.lots[r.Item]; !here {
				l.fault("Item", fmt.Sprintf("%q", r.Item), "a lot that the book has in the yard", "record its receipt")
				return r
			}
		}
		r.BookMass, r.BookLength = l.have(r.Counted, r.Item)
	}
	mm := Millis(r.Length) - Millis(r.BookLength)
	grams := Grams(r.Mass) - Grams(r.BookMass)
	if r.Counted == InProfile {
		grams = Grams(quantity.Mass(float64(r.Length-r.BookLength) * float64(l.profiles[r.Item].PerMetre)))
	}
	if l.history && r.BookMass == 0 && r.BookLength == 0 {
		return r // what the book had is not known
	}
	l.move(Difference, r.Item, -grams, -mm)
	if r.Counted == InProfile {
		l.postLength(r.Item, grams, mm)
	} else {
		l.post(r.Counted, r.Item, grams)
	}
	l.checkCount(r)
	if !l.history {
		l.learnCount(r)
	}
	return r
}

// checkCount warns of a count that is far off the book.
func (l *Ledger) checkCount(r Count) {
	const usual = 0.05
	far := func(found, book float64) bool { return book > 0 && (found < book*(1-usual) || found > book*(1+usual)) }
	const remedy = "count again, or look for a run, a receipt or a shipment that was not recorded"
	switch {
	case r.Counted == InProfile && far(float64(r.Length), float64(r.BookLength)):
		l.warn("Length", r.Length.Format(quantity.Metric, 1), "as a rule within 5 % of the book's "+r.BookLength.Format(quantity.Metric, 1), remedy)
	case r.Counted != InProfile && far(float64(r.Mass), float64(r.BookMass)):
		l.warn("Mass", r.Mass.Format(quantity.Metric, 1), "as a rule within 5 % of the book's "+r.BookMass.Format(quantity.Metric, 1), remedy)
	}
}

// have is what the book has in an account.
func (l *Ledger) have(a Account, code string) (quantity.Mass, quantity.Length) {
	if a == InLot {
		if i, ok := l.lots[code]; ok {
			return l.in.Lots[i].Mass, 0
		}
		return 0, 0
	}
	if i, ok := l.stock[stockKey{kindOf[a], code}]; ok {
		return l.in.Stock[i].Mass, l.in.Stock[i].Length
	}
	return 0, 0
}

var kindOf = map[Account]inventory.StockKind{InPellets: inventory.PelletStock, InRegrind: inventory.RegrindStock, InProfile: inventory.ProfileStock}

// post moves grams of a lot, of pellets or of regrind and books them. What pellets and regrind lack is a difference that a warning
// names: the material was there, so that the book was wrong before.
func (l *Ledger) post(a Account, code string, grams int64) {
	l.move(a, code, grams, 0)
	if l.history || grams == 0 {
		return
	}
	if a == InLot {
		lot := &l.in.Lots[l.lots[code]]
		lot.Mass = MassOf(Grams(lot.Mass) + grams)
		return
	}
	s := l.stockRow(kindOf[a], code)
	left := Grams(s.Mass) + grams
	if left < 0 {
		l.move(a, code, -left, 0)
		l.move(Difference, code, left, 0)
		l.warn("Stock", fmt.Sprintf("%s of %s", a, code), "in the book: "+kg(Grams(s.Mass)), fmt.Sprintf("%s more was used than the book had, booked as a difference: count it", kg(-left)))
		left = 0
	}
	s.Mass = MassOf(left)
}

// postLength is post for profile.
func (l *Ledger) postLength(code string, grams, millis int64) {
	l.move(InProfile, code, grams, millis)
	if l.history || millis == 0 {
		return
	}
	s := l.stockRow(inventory.ProfileStock, code)
	left := Millis(s.Length) + millis
	if left < 0 {
		g := Grams(quantity.Mass(float64(LengthOf(-left)) * float64(l.profiles[code].PerMetre)))
		l.move(InProfile, code, g, -left)
		l.move(Difference, code, -g, left)
		l.warn("Stock", "profile "+code, "in the book: "+s.Length.Format(quantity.Metric, 1),
			fmt.Sprintf("%s more was shipped than the book had, booked as a difference: count it", LengthOf(-left).Format(quantity.Metric, 1)))
		left = 0
	}
	s.Length = LengthOf(left)
}

// stockRow is the row of a stock, made if there is none.
func (l *Ledger) stockRow(k inventory.StockKind, code string) *inventory.Stock {
	i, ok := l.stock[stockKey{k, code}]
	if !ok {
		i = len(l.in.Stock)
		l.stock[stockKey{k, code}] = i
		l.in.Stock = append(l.in.Stock, inventory.Stock{Kind: k, Code: code})
	}
	return &l.in.Stock[i]
}
