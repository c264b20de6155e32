package console

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"feedline/inventory"
	"feedline/inventory/quantity"
)

// recordsKeys are the keys of the screen of records.
var recordsKeys = []binding{
	{keys: []string{"Enter"}, verb: "fill in", help: "enter the selected row: metres, scrap and hours; a receipt; a count", off: noRecord, do: enter},
	{keys: []string{"n"}, verb: "other run", help: "enter a run that is not listed", off: noRecorder, do: func(c *console, _ *view) { c.runForm("", "", "") }},
	{keys: []string{"x"}, verb: "take back", help: "take the record of the selected row, or the last one made here, back", danger: true, question: takeBackQuestion, off: noEntry, do: takeBackRecord},
}

func noRecorder(c *console, _ *view) string {
	if c.need.Recorder == nil {
		return "this book takes no records"
	}
	return ""
}

func noRecord(c *console, v *view) string {
	if s := noRecorder(c, v); s != "" {
		return s
	}
	return noRow(c, v)
}

// enter opens the form of the selected row.
func enter(c *console, v *view) {
	g := v.grid()
	r, _ := g.row()
	switch g.name {
	case "made":
		line, profile, _ := strings.Cut(r.Key, "/")
		c.runForm(line, profile, planned(r.Cells[2].Value))
	case "receipts":
		for _, d := range c.in().Deliveries {
			if d.Code == r.Key {
				c.receiptForm(d)
			}
		}
	case "counts":
		kind, code, _ := strings.Cut(r.Key, " ")
		c.countForm(kind, code, r.Cells[2].Text+" "+r.Cells[3].Text)
	}
}

func planned(v any) string {
	if x, ok := v.(float64); ok {
		return "planned " + quantity.Grouped(x, 0)
	}
	return ""
}

// record enters an entry and says what it did; the book's records and stock are taken in anew.
func (c *console) record(e Entry) error {
	if n := len(c.draft.steps); n > 0 {
		return fmt.Errorf("the draft has %s: release or drop it first, records change the book", plural(n, "edit"))
	}
	id, said, err := c.need.Recorder.Record(c.ctx, e)
	if err != nil {
		return err
	}
	c.entries = append(c.entries, id)
	c.reload()
	c.say("Recorded: %s. x takes it back.", said)
	return nil
}

func (c *console) units() (length, mass string) {
	if c.in().Plant.Units == quantity.US {
		return "ft", "lb"
	}
	return "m", "kg"
}

// runForm asks for what a line made.
func (c *console) runForm(line, profile, hint string) {
	metre, kg := c.units()
	day := c.facts.Yesterday()
	f := &form{title: fmt.Sprintf("Made on %s", day), fields: []field{
		{name: "line", label: "Line", value: line},
		{name: "profile", label: "Profile", value: profile},
		{name: "good", label: "Good " + metre, hint: hint},
		{name: "scrap", label: "Scrap " + kg},
		{name: "run", label: "Hours run"},
		{name: "down", label: "Hours down"},
		{name: "day", label: "Day", value: day.String()},
	}, do: func(m map[string]string) error {
		return c.record(Entry{"run", map[string]string{"day": m["day"], "line": m["line"], "profile": m["profile"], "good": amount(m["good"], metre), "scrap": amount(m["scrap"], kg), "run": m["run"], "down": m["down"]}})
	}}
	c.open(f)
	if line != "" && profile != "" {
		f.edit(2)
	}
}

// amount is a number with the unit of its field behind it, unless another was typed.
func amount(s, unit string) string {
	if s == "" {
		return "0 " + unit
	}
	if _, err := strconv.ParseFloat(strings.ReplaceAll(s, " ", ""), 64); err == nil {
		return strings.ReplaceAll(s, " ", "") + " " + unit
	}
	return s
}

// receiptForm asks for the ticket of a delivery.
func (c *console) receiptForm(d inventory.Delivery) {
	_, kg := c.units()
	net := float64(d.Mass)
	if kg == "lb" {
		net = d.Mass.Pounds()
	}
	f := &form{title: fmt.Sprintf("Receive %s, %s", d.Code, d.Material), fields: []field{
		{name: "ticket", label: "Ticket", value: d.Code},
		{name: "net", label: "Net " + kg, value: quantity.Grouped(net, 0)},
		{name: "lot", label: "Lot", value: d.Code},
		{name: "hold", label: "Hold", value: "no", hint: "yes or no"},
		{name: "day", label: "Day", value: c.facts.Today().String()},
	}, do: func(m map[string]string) error {
		return c.record(Entry{"receipt", map[string]string{"code": m["ticket"], "delivery": d.Code, "net": amount(m["net"], kg), "lot": m["lot"], "hold": m["hold"], "day": m["day"]}})
	}}
	c.open(f)
	f.edit(1)
}

// countForm asks for what was counted.
func (c *console) countForm(kind, code, book string) {
	metre, kg := c.units()
	unit := kg
	if kind == "profile" {
		unit = metre
	}
	c.open(&form{title: "Count of " + kind + " " + code, fields: []field{
		{name: "found", label: "Found " + unit, hint: "book " + book},
		{name: "day", label: "Day", value: c.facts.Today().String()},
	}, do: func(m map[string]string) error {
		if m["found"] == "" {
			return errors.New("found is blank: enter what was counted, 0 for nothing")
		}
		return c.record(Entry{"count", map[string]string{"counted": kind, "item": code, "found": amount(m["found"], unit), "day": m["day"]}})
	}})
}

// entry is the record of the selected row, else the last one made here; 0 if there is none.
func (c *console) entry(v *view) int64 {
	if g := v.grid(); g != nil && g.name == "made" {
		if r, ok := g.row(); ok {
			line, profile, _ := strings.Cut(r.Key, "/")
			for _, a := range c.facts.Known.Actual {
				if a.Line == line && a.Profile == profile {
					return a.ID
				}
			}
		}
	}
	if n := len(c.entries); n > 0 {
		return c.entries[n-1]
	}
	return 0
}

func noEntry(c *console, v *view) string {
	if s := noRecorder(c, v); s != "" {
		return s
	}
	if c.entry(v) == 0 {
		return "the row has no record, and none was made here"
	}
	return ""
}

func takeBackQuestion(c *console, v *view) string {
	return fmt.Sprintf("Take record %d back? Stock and lots become what they were without it.", c.entry(v))
}

func takeBackRecord(c *console, v *view) {
	id := c.entry(v)
	if err := c.need.Recorder.Undo(c.ctx, id); err != nil {
		c.warn(err)
		return
	}
	var left []int64
	for _, x := range c.entries {
		if x != id {
			left = append(left, x)
		}
	}
	c.entries = left
	c.reload()
	c.say("Record %d is taken back.", id)
}
