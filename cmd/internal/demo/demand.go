package demo

import (
	"fmt"
	"math"

	"feedline/inventory"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
)

func mass(kg float64) quantity.Mass { return quantity.Mass(kg) }

// roundTo is x to the nearest multiple of step, a whole number or one part of a whole number, without the noise of a product of fractions.
func roundTo(x, step float64) float64 {
	n := math.Round(x / step)
	if step < 1 {
		return n / math.Round(1/step)
	}
	return n * step
}

func stock() []inventory.Stock {
	list := []inventory.Stock{
		{Kind: inventory.PelletStock, Code: white, Mass: 24600},
		{Kind: inventory.PelletStock, Code: grey, Mass: 11800},
		{Kind: inventory.PelletStock, Code: black, Mass: 7400},
		{Kind: inventory.RegrindStock, Code: white, Mass: 2100},
		{Kind: inventory.RegrindStock, Code: grey, Mass: 900},
		{Kind: inventory.RegrindStock, Code: black, Mass: 600},
	}
	for _, p := range products {
		list = append(list, inventory.Stock{Kind: inventory.ProfileStock, Code: p.code, Length: quantity.Length(p.stock)})
	}
	return list
}

// call is an order in the pattern of a profile: how many usual weeks' metres are due when.
type call struct {
	week, day int
	weeks     float64
	priority  int
}

// patterns are lumpy, and thin out as customers have not ordered so far ahead yet.
var patterns = [][]call{
	{{0, 2, 0.9, 2}, {2, 4, 1.6, 1}, {3, 3, 1.0, 2}, {6, 1, 2.2, 2}, {10, 4, 1.2, 3}},
	{{1, 1, 1.8, 1}, {3, 4, 1.5, 3}, {5, 2, 1.4, 2}, {9, 0, 1.0, 2}},
	{{0, 4, 0.6, 1}, {1, 3, 1.4, 2}, {4, 2, 2.0, 1}, {7, 3, 1.0, 3}},
	{{2, 2, 2.4, 2}, {3, 1, 0.9, 1}, {6, 4, 1.6, 2}, {8, 2, 1.1, 2}},
	{{0, 3, 1.2, 2}, {3, 2, 2.1, 2}, {5, 4, 2.3, 1}, {11, 1, 0.8, 3}},
	{{1, 4, 1.1, 3}, {2, 1, 1.3, 2}, {3, 0, 1.2, 1}, {7, 2, 2.4, 2}, {9, 3, 0.7, 2}},
}

var customers = []string{
	"Marlowby Interiors", "Dunholt Trade Counter", "Huis & Lijst Averbode", "Fennick Builders' Supply", "Corvelle Décor", "Northmere Shopfitting", "Abelgaard Byg", "Rooksend Joinery",
}

// orders are 78 calls to come and two that were due last week.
func orders(start calendar.Day) []planner.Order {
	var list []planner.Order
	add := func(profile int, length quantity.Length, due calendar.Day, priority int) {
		n := len(list)
		list = append(list, planner.Order{
			Code: fmt.Sprintf("O-%d", 4101+n), Customer: customers[(3*n+n/5)%len(customers)], Profile: products[profile].code,
			Length: length, Due: due, Priority: priority,
		})
	}
	add(8, 1800, on(start, -1, 3), 1)
	add(12, 1500, on(start, -1, 4), 1)
	for i, p := range products {
		for _, c := range patterns[i%len(patterns)] {
			add(i, quantity.Length(roundTo(c.weeks*p.weekly, 150)), on(start, c.week, c.day), c.priority)
		}
	}
	return list
}

// season is the demand of each four weeks against the usual.
var season = []float64{1.00, 1.00, 1.02, 1.03, 1.00, 0.97, 0.95}

// forecasts go 26 weeks ahead in blocks of four weeks.
func forecasts(start calendar.Day) []planner.Forecast {
	const weeks, block = 26, 4
	var list []planner.Forecast
	for _, p := range products {
		for i, s := range season {
			n := min(block, weeks-i*block)
			from := on(start, i*block, 0)
			list = append(list, planner.Forecast{Profile: p.code, From: max(start, from), To: from + calendar.Day(7*n),
				Length: quantity.Length(roundTo(s*p.weekly*float64(n), 150))})
		}
	}
	return list
}
