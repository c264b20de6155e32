package records

import (
	"fmt"
	"slices"
	"strings"

	"feedline/inventory"
	"feedline/inventory/quantity"
)

func kg(grams int64) string { return MassOf(grams).Format(quantity.Metric, 1) }

// receipt fills a receipt in from its delivery, lane and material, makes its lot and marks the delivery.
func (l *Ledger) receipt(r Receipt) Record {
	if r.Lot == "" {
		r.Lot = r.Code
	}
	d, announced := l.deliveries[r.Delivery]
	if r.Delivery != "" && !announced && !l.history {
		refer(l, "Delivery", r.Delivery, "a delivery", l.deliveries)
		return r
	}
	if announced {
		r = l.ofDelivery(r, l.in.Deliveries[d])
	}
	if lane, ok := l.lanes[r.Lane]; ok {
		r.Supplier, r.Material = orElse(r.Supplier, lane.Supplier), orElse(r.Material, lane.Material)
	} else if r.Lane != "" {
		refer(l, "Lane", r.Lane, "a lane", l.lanes)
	}
	if refer(l, "Material", r.Material, "a material", l.materials) {
		m := l.materials[r.Material]
		r.Form, r.Source = inventory.Form(orElse(string(r.Form), string(m.Form))), inventory.Source(orElse(string(r.Source), string(m.Source)))
		l.checkKind(r, m)
	}
	if r.Supplier != "" {
		refer(l, "Supplier", r.Supplier, "a supplier", l.suppliers)
	}
	if _, ok := l.known[r.Lot]; ok && !l.reusable(r.Lot) && !(l.history && l.statedOnly(r.Lot)) {
		l.fault("Lot", fmt.Sprintf("%q", r.Lot), "a lot that is not there yet", "give it a number of its own, or reverse the receipt that made it")
	}
	if len(l.faults) > 0 {
		return r
	}
	net := r.NetGrams()
	r.Net = MassOf(net)
	l.move(Outside, r.Supplier, -net, 0)
	l.move(InLot, r.Lot, net, 0)
	l.known[r.Lot], l.told[r.Lot] = r.Material, true
	delete(l.results, r.Lot)
	l.learn(r.Lot, r.Results())
	if announced && !l.history {
		l.arrive(&r, d)
	}
	if !l.history {
		l.makeLot(r)
	}
	return r
}

// checkKind refuses a form or a source other than the material's: what is fed is planned by material.
func (l *Ledger) checkKind(r Receipt, m inventory.Material) {
	if r.Form != m.Form {
		l.fault("Form", fmt.Sprintf("%q", r.Form), fmt.Sprintf("%q, the form of %s", m.Form, m.Code), "enter a material of its own for another form")
	}
	if r.Source != m.Source {
		l.fault("Source", fmt.Sprintf("%q", r.Source), fmt.Sprintf("%q, the source of %s", m.Source, m.Code), "enter a material of its own for another source")
	}
}

// reusable reports whether a lot is left of a receipt that was reversed.
func (l *Ledger) reusable(lot string) bool {
	i, ok := l.lots[lot]
	return ok && l.in.Lots[i].Mass == 0 && l.in.Lots[i].Hold && strings.HasSuffix(l.in.Lots[i].Reason, reversedReceipt)
}

const reversedReceipt = "its receipt was reversed"

// statedOnly reports whether a lot is known from the book's table alone, so that history may tell how it came.
func (l *Ledger) statedOnly(lot string) bool {
	_, ok := l.lots[lot]
	return ok && !l.told[lot]
}

func (l *Ledger) ofDelivery(r Receipt, d inventory.Delivery) Receipt {
	if r.Lane != "" && d.Lane != "" && r.Lane != d.Lane {
		l.fault("Lane", fmt.Sprintf("%q", r.Lane), fmt.Sprintf("%q, the lane of delivery %s", d.Lane, d.Code), "")
	}
	if r.Material != "" && r.Material != d.Material {
		l.fault("Material", fmt.Sprintf("%q", r.Material), fmt.Sprintf("%q, the material of delivery %s", d.Material, d.Code), "check the ticket")
	}
	if !d.Coming() && !l.history {
		l.fault("Delivery", fmt.Sprintf("%q", d.Code), "a delivery that is still to come", fmt.Sprintf("it is %s already", d.Status))
	}
	r.Lane, r.Material = orElse(r.Lane, d.Lane), d.Material
	if r.Ordered == 0 {
		r.Ordered = d.Ordered
	}
	return r
}

// arrive marks a delivery as received, or takes a part off it.
func (l *Ledger) arrive(r *Receipt, i int) {
	d := &l.in.Deliveries[i]
	r.WasStatus, r.WasMass = d.Status, d.Mass
	left := Grams(d.Mass) - r.NetGrams()
	switch {
	case r.Part && left > 0:
		d.Mass = MassOf(left)
		return
	case r.Part:
		l.warn("Part", "yes", "a part of the delivery", fmt.Sprintf("delivery %s is complete with it and was marked received", d.Code))
	}
	const usualDifference = 0.1
	if x := float64(left) / float64(Grams(d.Mass)); !r.Part && (x > usualDifference || x < -usualDifference) {
		l.warn("Net", kg(r.NetGrams()), "as a rule about the "+kg(Grams(d.Mass))+" announced", "check the ticket; with part = yes the rest is still to come")
	}
	d.Status = inventory.Received
}

// makeLot enters the receipt's lot, on hold where that was decided or a limit asks for it.
func (l *Ledger) makeLot(r Receipt) {
	lot := inventory.Lot{Code: r.Lot, Material: r.Material, Supplier: r.Supplier, Mass: r.Net, Received: r.Day}
	why := l.Over(r.Lot)
	switch {
	case r.Decision == Release && len(why) > 0:
		l.fault("Decision", "release", "hold, as long as a limit is exceeded", strings.Join(why, "; "))
		return
	case r.Decision == Hold:
		lot.Hold, lot.Reason = true, strings.Join(append([]string{r.Reason}, why...), "; ")
	case len(why) > 0:
		lot.Hold, lot.Reason = true, strings.Join(why, "; ")
		l.warn("Lot", fmt.Sprintf("%q", r.Lot), "within the limits", "it was put on hold: "+lot.Reason)
	}
	if i, ok := l.lots[r.Lot]; ok {
		l.in.Lots[i] = lot
		return
	}
	l.lots[r.Lot] = len(l.in.Lots)
	l.in.Lots = append(l.in.Lots, lot)
}

// test adds results to a lot, and holds or releases it. Results over a limit hold it by themselves; nothing releases it then.
func (l *Ledger) test(r Test) Record {
	if !refer(l, "Lot", r.Lot, "a lot", l.known) {
		return r
	}
	before := l.results[r.Lot]
	l.results[r.Lot] = nil
	l.learn(r.Lot, before)
	l.learn(r.Lot, r.Results())
	i, here := l.lots[r.Lot]
	if !here || l.history {
		return r
	}
	lot := &l.in.Lots[i]
	r.WasHold, r.WasReason = lot.Hold, lot.Reason
	why := l.Over(r.Lot)
	switch {
	case r.Decision == Release && len(why) > 0:
		l.fault("Decision", "release", "hold, as long as a limit is exceeded", strings.Join(why, "; "))
		l.results[r.Lot] = before
	case r.Decision == Release:
		lot.Hold, lot.Reason = false, ""
	case r.Decision == Hold:
		lot.Hold, lot.Reason = true, strings.Join(append([]string{r.Reason}, why...), "; ")
	case len(why) > 0:
		lot.Hold, lot.Reason = true, strings.Join(why, "; ")
		l.warn("Lot", fmt.Sprintf("%q", r.Lot), "within the limits", "it was put on hold: "+lot.Reason)
	}
	return r
}

// eta changes a delivery's date, spread and status. A date later than before marks it late.
func (l *Ledger) eta(r ETAChange) Record {
	if l.history {
		return r
	}
	if !refer(l, "Delivery", r.Delivery, "a delivery", l.deliveries) {
		return r
	}
	d := &l.in.Deliveries[l.deliveries[r.Delivery]]
	switch {
	case !d.Coming():
		l.fault("Delivery", fmt.Sprintf("%q", d.Code), "a delivery that is still to come", fmt.Sprintf("it is %s", d.Status))
	case r.ETA != 0 && r.ETA < d.Ordered:
		l.fault("ETA", r.ETA.String(), "the day of the order, "+d.Ordered.String()+", or later", "")
	}
	if len(l.faults) > 0 {
		return r
	}
	if l.Today != 0 && r.ETA-l.Today > usualDays {
		l.warn("ETA", r.ETA.String(), "as a rule a day within a year", "if the day is wrong, enter the right one")
	}
	r.WasETA, r.WasSpread, r.WasStatus, r.WasLate = d.ETA, d.Spread, d.Status, d.Late
	if r.ETA != 0 {
		d.Late = r.ETA > d.ETA || d.Late && r.ETA == d.ETA
		d.ETA = r.ETA
	}
	if r.Spread.Known {
		d.Spread = r.Spread.Value
	}
	if r.Status != "" {
		d.Status = r.Status
	}
	return r
}

func orElse(s, other string) string {
	if s != "" {
		return s
	}
	return other
}

// process takes of lots and of own regrind and gives pellets, or gives back to the lots what stays part of them.
func (l *Ledger) process(r Process) Record {
	refer(l, "Step", r.Step, "a step", l.steps)
	if r.Grade != "" {
		refer(l, "Grade", r.Grade, "a grade", l.grades)
	}
	for _, d := range r.Lots {
		if refer(l, "Lots", d.Lot, "a lot", l.known) {
			l.checkDraw(r, d)
		}
	}
	if len(l.faults) > 0 {
		return r
	}
	in, out := r.InGrams(), Grams(r.Out)
	given := int64(0)
	for i, d := range r.Lots {
		back := int64(0)
		if r.Grade == "" { // shares of the product by mass, the last lot takes what rounding leaves
			back = out * Grams(d.Mass) / in
			if i == len(r.Lots)-1 {
				back = out - given
			}
			given += back
		}
		l.post(InLot, d.Lot, back-Grams(d.Mass))
	}
	if r.Regrind > 0 {
		l.post(InRegrind, r.Grade, -Grams(r.Regrind))
	}
	if r.Grade != "" {
		l.post(InPellets, r.Grade, out)
	}
	l.move(Loss, r.Step, in-out, 0)
	return r
}

// checkDraw refuses to draw of a lot on hold, over a limit, of a form that the step does not take, or more than there is.
func (l *Ledger) checkDraw(r Process, d Draw) {
	if s := l.steps[r.Step]; s.Code != "" {
		if m := l.materials[l.known[d.Lot]]; m.Code != "" && !slices.Contains(s.Forms, string(m.Form)) {
			l.fault("Lots", fmt.Sprintf("%q", d.Lot), fmt.Sprintf("a lot of a form that %s takes: %s", s.Code, strings.Join(s.Forms, ", ")),
				fmt.Sprintf("%s is %s", l.known[d.Lot], m.Form))
		}
	}
	if l.history {
		return
	}
	i, here := l.lots[d.Lot]
	if !here {
		l.fault("Lots", fmt.Sprintf("%q", d.Lot), "a lot that is in the yard", "the book has nothing of it left")
		return
	}
	lot := l.in.Lots[i]
	switch why := l.Over(d.Lot); {
	case lot.Hold:
		l.fault("Lots", fmt.Sprintf("%q", d.Lot), "a lot that is not on hold", orElse(lot.Reason, "release it first"))
	case len(why) > 0:
		l.fault("Lots", fmt.Sprintf("%q", d.Lot), "a lot within the limits", strings.Join(why, "; "))
	case Grams(d.Mass) > Grams(lot.Mass):
		l.fault("Lots", d.Lot+" "+kg(Grams(d.Mass)), "no more than the book has left of it, "+kg(Grams(lot.Mass)),
			"check the weight, or record a count of the lot first")
	}
}
