package benchplant

import (
	"fmt"

	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

// How far customers order ahead and how the forecasts are cut, weeks.
const (
	orderedWeeks  = 10
	forecastWeeks = 4
)

// drawDemand scales the products' weekly sales so that runs, and a changeover a product and fortnight, take the drawn share of
// the lines' hours, evenly spread over the lines as far as the families allow.
func (w *works) drawDemand() {
	w.load = w.between(0.75, 0.95)
	changes := 0.0 // hours a week
	for _, f := range w.families {
		changes += float64(f.profiles) * w.acrossHours(f) / 2
	}
	for i := range w.products {
		w.products[i].weekly *= 1000 / w.products[i].perMetre // equal tonnes to begin with
	}
	w.evenOut()
	hours := 0.0
	for _, h := range w.lineHours() {
		hours += h
	}
	scale := (w.load*hoursAWeek*float64(w.Lines) - changes) / hours
	for i := range w.products {
		w.products[i].weekly = max(100, roundTo(w.products[i].weekly*max(0.1, scale), 50))
	}
}

// lineHours is the running hours a week of each line when every product is split over its lines by what they can do together.
func (w *works) lineHours() []float64 {
	hours := make([]float64, w.Lines)
	for _, p := range w.products {
		total := 0.0
		for _, m := range w.machines {
			total += w.metresAnHour(m, p)
		}
		for l, m := range w.machines {
			if w.metresAnHour(m, p) > 0 {
				hours[l] += p.weekly / total
			}
		}
	}
	return hours
}

// evenOut moves sales from products of full lines to those of idle ones.
func (w *works) evenOut() {
	for range 30 {
		hours, mean := w.lineHours(), 0.0
		for _, h := range hours {
			mean += h / float64(w.Lines)
		}
		for i, p := range w.products {
			full, n := 0.0, 0.0
			for l, m := range w.machines {
				if w.metresAnHour(m, p) > 0 {
					full, n = full+hours[l]/mean, n+1
				}
			}
			w.products[i].weekly *= 0.7 + 0.3*n/full
		}
	}
}

// orders are lumpy: each takes the sales of half a week to three weeks, and the next is due when that is used up, give or take.
func (w *works) orders() []planner.Order {
	var list []planner.Order
	for _, p := range w.products {
		for week := w.between(0, 1.5); week < orderedWeeks && week < float64(w.Weeks); {
			weeks := w.between(0.5, 3)
			due := Start + calendar.Day(7*week)
			list = append(list, planner.Order{Code: fmt.Sprintf("O%04d", len(list)+1), Customer: fmt.Sprintf("customer %d", 1+w.rng.IntN(4+w.Profiles/2)),
				Profile: p.code, Length: quantity.Length(max(100, roundTo(weeks*p.weekly, 50))), Due: due, Priority: 1 + w.rng.IntN(3)})
			week += weeks * w.between(0.9, 1.2)
		}
	}
	return list
}

// forecasts are the usual sales in blocks of four weeks, up and down by a tenth.
func (w *works) forecasts() []planner.Forecast {
	var list []planner.Forecast
	for _, p := range w.products {
		for week := 0; week < w.Weeks; week += forecastWeeks {
			n := min(forecastWeeks, w.Weeks-week)
			from := Start + calendar.Day(7*week)
			list = append(list, planner.Forecast{Profile: p.code, From: from, To: from + calendar.Day(7*n),
				Length: quantity.Length(roundTo(float64(n)*p.weekly*w.between(0.9, 1.1), 50))})
		}
	}
	return list
}
