package audit

import (
	"math"

	"feedline/lines/calendar"
	"feedline/planner"
)

// pinPrice is what an hour by which a pin is not kept costs in the objective, in the plant's currency.
const pinPrice = 2000

// brokenPin is the hours by which a pin is not kept in a bucket.
type brokenPin struct {
	w     place
	hours num
	pin   planner.Pin
}

// checkPin gathers by how much each bucket misses the pin; settlePins judges.
func (a *auditor) checkPin(pin planner.Pin) {
	ln, ok := a.line[pin.Line]
	if !ok {
		return
	}
	for t, b := range a.p.Buckets {
		span := b.Span.Overlap(calendar.Span{From: pin.From, To: pin.To})
		hours := a.lineHours(ln, span)
		if span.Days() == 0 || hours.sign() == 0 {
			continue
		}
		u := a.uses[lineBucket{ln.Code, t}]
		a.tally[Pins].Checked++
		broken := a.missed(pin, u, hours, a.hours[lineBucket{ln.Code, t}])
		if broken.float() > hoursTolerance {
			a.broken = append(a.broken, brokenPin{a.at(t, "pin "+pin.Code+", line "+pin.Line), broken, pin})
		}
	}
}

// missed is the hours by which u does not keep pin, which covers hours of the open hours of the bucket.
func (a *auditor) missed(pin planner.Pin, u planner.LineUse, hours, open num) num {
	own, busy := num{}, computed(u.Run).add(computed(u.Setup)).add(computed(u.Startup))
	for _, r := range a.runs[lineBucket{u.Line, u.Bucket}] {
		if r.Profile == pin.Profile {
			own = own.add(computed(r.Hours))
			if pin.Kind == planner.PinRun {
				own = own.add(computed(r.Setup))
			}
		}
	}
	free := open.sub(hours)
	switch pin.Kind {
	case planner.PinIdle:
		if u.On && free.float() <= hoursTolerance {
			return hours
		}
		return most(num{}, busy.sub(free))
	case planner.PinForbid:
		return most(num{}, own.sub(free))
	}
	if pin.Profile != "" {
		busy = own.add(computed(u.Startup))
	}
	return most(num{}, hours.sub(busy))
}

// settlePins reports the pins not kept: doubtful if the plan pays for all of them, else wrong. What the plan says of them itself must be so.
func (a *auditor) settlePins() {
	sum := num{}
	for _, x := range a.broken {
		sum = sum.add(x.hours)
	}
	cost := sum.mul(whole(pinPrice))
	a.bill(costPins, cost)
	paid := a.paid[costPins] >= cost.float()*(1-moneyShare)-moneyTolerance
	for _, x := range a.broken {
		f := Finding{Have: x.hours.float(), Unit: "h", Note: "hours by which the pin (" + string(x.pin.Kind) + ") is not kept"}
		if paid {
			f.Severity = Doubtful
		}
		a.find(Pins, x.w, f)
	}
	a.checkUnkept()
}

// checkUnkept compares the plan's own list of pins not kept, each with its hours over the horizon.
func (a *auditor) checkUnkept() {
	const told = 1.0 / 60 // hours from which a plan tells of a bucket
	own, buckets := map[planner.Pin]float64{}, map[planner.Pin]float64{}
	for _, x := range a.broken {
		own[x.pin] += x.hours.float()
		buckets[x.pin]++
	}
	for _, u := range a.p.Unkept {
		own[u.Pin] -= float64(u.Hours)
	}
	for _, pin := range a.in.Pins {
		if miss := own[pin]; math.Abs(miss) > buckets[pin]*told+hoursTolerance {
			a.find(Pins, a.at(0, "pin "+pin.Code), Finding{Have: miss, Unit: "h", Note: "hours by which the pin is not kept beyond what the plan's own list says"})
		}
	}
}
