package audit

import (
	"feedline/lines/calendar"
	"feedline/planner"
)

// pinPrice is what an hour by which a pin is not kept costs in the objective, in the plant's currency.
const pinPrice = 2000

// brokenPin is the hours by which a pin is not kept in a bucket.
type brokenPin struct {
	w     place
	hours num
	kind  planner.PinKind
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
			a.broken = append(a.broken, brokenPin{a.at(t, "pin "+pin.Code+", line "+pin.Line), broken, pin.Kind})
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

// settlePins reports the pins not kept: doubtful if the plan pays for all of them, else wrong.
func (a *auditor) settlePins() {
	sum := num{}
	for _, x := range a.broken {
		sum = sum.add(x.hours)
	}
	cost := sum.mul(whole(pinPrice))
	a.bill(costPins, cost)
	paid := a.paid[costPins] >= cost.float()*(1-moneyShare)-moneyTolerance
	for _, x := range a.broken {
		f := Finding{Have: x.hours.float(), Unit: "h", Note: "hours by which the pin (" + string(x.kind) + ") is not kept"}
		if paid {
			f.Severity = Doubtful
		}
		a.find(Pins, x.w, f)
	}
}
