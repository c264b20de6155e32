package solvetest

import (
	"fmt"
	"math"
	"math/rand/v2"

	"feedline/planner/model"
)

// LotSizing is the relaxation of a seeded production plan: profiles made on lines over weeks. Each profile runs on two
// lines; a run needs a set-up (0…1, relaxed) with its hours and money; stock and backlog are carried; lines have hours
// and some overtime. Rows: weeks × (lines + profiles + 2·profiles).
func LotSizing(seed uint64, lines, profiles, weeks int) *model.Model {
	r := rand.New(rand.NewPCG(seed, 2))
	inf := math.Inf(1)
	m := &model.Model{Name: fmt.Sprintf("plan%dx%dx%d", lines, profiles, weeks)}
	hours := make([][][]model.Term, lines)
	for l := range hours {
		hours[l] = make([][]model.Term, weeks)
		for t := range hours[l] {
			o := m.AddVar("", 0, 20, 60+math.Round(20*r.Float64()))
			hours[l][t] = append(hours[l][t], model.Term{Var: o, Coef: -1})
		}
	}
	load := 0.85 * 120 * float64(lines) / float64(profiles) // hours of a profile a week
	for p := 0; p < profiles; p++ {
		rate := 20 + math.Round(60*r.Float64()) // pieces an hour
		hold := math.Round(100*(0.2+r.Float64())) / 100
		first := r.IntN(lines)
		on := []int{first, (first + 1 + r.IntN(max(1, lines-1))) % lines}
		var stock, back model.Var
		left := 0.0
		demand := make([]float64, weeks)
		for t := range demand {
			if r.IntN(4) > 0 {
				demand[t] = math.Round(rate * load * (0.5 + r.Float64()))
			}
			left += demand[t]
		}
		for t := 0; t < weeks; t++ {
			var balance []model.Term
			for _, l := range on {
				speed := rate * (0.8 + 0.4*r.Float64())
				x := m.AddVar("", 0, inf, 0.05*r.Float64())
				y := m.AddVar("", 0, 1, 50+math.Round(200*r.Float64()))
				m.Integer[y] = true
				balance = append(balance, model.Term{Var: x, Coef: 1})
				hours[l][t] = append(hours[l][t], model.Term{Var: x, Coef: 1 / speed}, model.Term{Var: y, Coef: 1 + math.Round(4*r.Float64())})
				m.AddRow("", -inf, 0, model.Term{Var: x, Coef: 1}, model.Term{Var: y, Coef: -math.Min(left, 140*speed)})
			}
			if t > 0 {
				balance = append(balance, model.Term{Var: stock, Coef: 1}, model.Term{Var: back, Coef: -1})
			}
			stock = m.AddVar("", 0, inf, hold)
			back = m.AddVar("", 0, inf, 10*hold)
			balance = append(balance, model.Term{Var: stock, Coef: -1}, model.Term{Var: back, Coef: 1})
			m.AddRow("", demand[t], demand[t], balance...)
			left -= demand[t]
		}
	}
	for l := range hours {
		for t := range hours[l] {
			m.AddRow("", -inf, 120, hours[l][t]...)
		}
	}
	return m
}
