package rows

import (
	"encoding/csv"
	"encoding/json"
	"io"
	"math"
	"strconv"
	"strings"

	"feedline/lines/calendar"
)

// Schema names the JSON of a screen. Fields are only ever added under the same number.
const Schema = "feedline.show/1"

// plainValue is a value without what stands for nothing: nil for day 0 and for numbers that are not finite.
func plainValue(v any) any {
	switch x := v.(type) {
	case calendar.Day:
		if x == 0 {
			return nil
		}
	case float64:
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return nil
		}
	}
	return v
}

// written is a value as JSON has it: a day as YYYY-MM-DD.
func written(v any) any {
	v = plainValue(v)
	if d, ok := v.(calendar.Day); ok {
		return d.String()
	}
	return v
}

// CSV writes the table as comma-separated values: the columns' keys, then the rows. Drawn columns are left out. A text that a
// spreadsheet would take for a formula has an apostrophe put before it.
func (t *Table) CSV(w io.Writer) error {
	c := csv.NewWriter(w)
	var head []string
	for _, col := range t.Columns {
		if !col.Drawn {
			head = append(head, col.Key)
		}
	}
	if err := c.Write(head); err != nil {
		return err
	}
	for _, r := range t.Rows {
		var line []string
		for i, col := range t.Columns {
			if !col.Drawn {
				line = append(line, csvField(r.Cells[i].Value))
			}
		}
		if err := c.Write(line); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

func csvField(v any) string {
	switch x := written(v).(type) {
	case string:
		if x != "" && strings.ContainsRune("=+-@\t\r", rune(x[0])) {
			return "'" + x
		}
		return x
	case float64:
		return strconv.FormatFloat(x, 'f', -1, 64)
	case int:
		return strconv.Itoa(x)
	case bool:
		return strconv.FormatBool(x)
	}
	return ""
}

// Plain is the rows as they are read, separated by tabs, for the clipboard.
func (t *Table) Plain(rows ...Row) string {
	var b strings.Builder
	for _, r := range rows {
		first := true
		for i, c := range r.Cells {
			if t.Columns[i].Drawn {
				continue
			}
			if !first {
				b.WriteByte('\t')
			}
			first = false
			b.WriteString(Clean(c.Text))
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// document is a page as JSON.
type document struct {
	Schema string                      `json:"schema"`
	Screen string                      `json:"screen"`
	Plant  string                      `json:"plant"`
	Made   string                      `json:"plan_made"`
	Lead   []string                    `json:"lead"`
	Tables map[string][]map[string]any `json:"tables"`
}

// JSON writes the page's lead and its tables as one document: a table is a list of objects by the columns' keys. What is not
// known is null.
func (p Page) JSON(w io.Writer, f *Facts) error {
	d := document{Schema: Schema, Screen: p.Screen, Plant: f.In.Plant.Name, Made: stamp(f.Plan.Made), Lead: []string{}, Tables: map[string][]map[string]any{}}
	for _, l := range p.Lead {
		d.Lead = append(d.Lead, l.String())
	}
	for _, t := range p.tables() {
		list := []map[string]any{}
		for _, r := range t.Rows {
			one := map[string]any{}
			for i, c := range t.Columns {
				if !c.Drawn {
					one[c.Key] = written(r.Cells[i].Value)
				}
			}
			list = append(list, one)
		}
		d.Tables[t.Name] = list
	}
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(d)
}
