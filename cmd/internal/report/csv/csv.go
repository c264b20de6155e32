// Package csv writes a plan's views as CSV files, one for each: UTF-8, a heading with the unit in brackets, numbers with a point and
// no grouping, days as YYYY-MM-DD.
package csv

import (
	"bytes"
	"encoding/csv"
	"math"
	"strconv"

	"feedline/cmd/internal/report/view"
	"feedline/planner"
)

// Options are those of the views.
type Options = view.Options

// mark is the byte order mark by which spreadsheets know UTF-8.
const mark = "\ufeff"

// Files are the files by name, such as "need-have.csv".
func Files(in *planner.Input, p *planner.Plan, opt Options) map[string][]byte {
	files := map[string][]byte{}
	for _, t := range view.All(in, p, opt) {
		files[t.Name+".csv"] = File(t)
	}
	return files
}

// File is one table.
func File(t view.Table) []byte {
	var b bytes.Buffer
	b.WriteString(mark)
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	line := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		line[i] = c.Heading()
	}
	_ = w.Write(line) // a bytes.Buffer takes everything
	for _, r := range t.Rows {
		for i, x := range r {
			line[i] = cell(t.Columns[i], x)
		}
		_ = w.Write(line)
	}
	w.Flush()
	return b.Bytes()
}

// more is how many decimals a number has here beyond those that are shown elsewhere.
const more = 3

func cell(c view.Column, x view.Cell) string {
	switch {
	case x.None:
		return ""
	case c.Kind == view.Number:
		scale := math.Pow(10, float64(c.Decimals+more))
		n := math.Round(x.Number*scale) / scale
		if n == 0 {
			n = 0 // without a sign
		}
		return strconv.FormatFloat(n, 'f', -1, 64)
	case c.Kind == view.Day:
		return x.Day.String()
	}
	return view.Inert(x.Text)
}
