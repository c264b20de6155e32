package report

import (
	"fmt"

	"feedline/cmd/internal/report/reporttest"
	"feedline/lines"
	"feedline/planner"
)

var monday = reporttest.Monday

func sample() (*planner.Input, *planner.Plan) { return reporttest.Sample() }

// crowded is the sample with many lines, shortages and ways to order.
func crowded() (*planner.Input, *planner.Plan) {
	in, p := sample()
	in.Lines, p.Shortages, p.OrderBy = nil, nil, nil
	for i := range 20 {
		code := fmt.Sprintf("L%d", i+1)
		in.Lines = append(in.Lines, lines.Line{Code: code})
		p.Runs = append(p.Runs, planner.Run{Line: code, Profile: "SK80", Hours: 24, Length: 7000})
	}
	for i := range 6 {
		grade := fmt.Sprintf("G%d", i+1)
		p.Shortages = append(p.Shortages, planner.Shortage{Grade: grade, First: monday + 7, WeeksAhead: 1})
		for j := range 3 {
			p.OrderBy = append(p.OrderBy, planner.OrderBy{Grade: grade, Lane: fmt.Sprintf("LANE-%d", j), By: monday + 1, Loads: 1})
		}
	}
	return in, p
}
