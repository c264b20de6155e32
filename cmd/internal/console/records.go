package console

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// recordsKeys are the keys of the screen of records. Each form begins with what the selected row is about.
var recordsKeys = []binding{
	{keys: []string{"Enter"}, verb: "fill", help: "enter the selected row: a run, a receipt, a shipment, a count", off: noRecord, do: enter},
	{keys: []string{"n"}, verb: "run", help: "enter a run that is not listed", off: noRecorder, do: otherRun},
	{keys: []string{"c"}, verb: "load", help: "enter a receipt that is not listed, announced or not", off: noRecorder, do: otherReceipt},
	{keys: []string{"p"}, verb: "step", help: "enter a process run: lots and own regrind in, product out, the filter's loss, hours", off: noRecorder, do: processRun},
	{keys: []string{"t"}, verb: "test", help: "enter results of a lot beside their limits, or hold or release it", off: noLots, do: lotTest},
	{keys: []string{"b"}, verb: "hold", help: "hold the lot, or release one that is on hold, as a record", off: noLots, do: holdOrRelease},
	{keys: []string{"s"}, verb: "ship", help: "enter a shipment, for an order or without one", off: noRecorder, do: shipment},
	{keys: []string{"d"}, verb: "ETA", help: "enter a delivery's new ETA or status, beside those that it had", off: noComing, do: newETA},
	{keys: []string{"x"}, verb: "back", help: "take the record of the selected row, or the last one made here, back", danger: true, question: takeBackQuestion, off: noEntry, do: takeBackRecord},
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

func noLots(c *console, v *view) string {
	if s := noRecorder(c, v); s != "" {
		return s
	}
	if len(c.in().Lots) == 0 {
		return "there are no lots in the yard"
	}
	return ""
}

func noComing(c *console, v *view) string {
	if s := noRecorder(c, v); s != "" {
		return s
	}
	if len(c.coming()) == 0 {
		return "no delivery is on its way"
	}
	return ""
}

// enter opens the form of the selected row; an entry is shown in full.
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
	case "shipments":
		c.shipmentForm(r.Key, "")
	case "counts":
		kind, code, _ := strings.Cut(r.Key, " ")
		c.countForm(kind, code, r.Cells[2].Text+" "+r.Cells[3].Text)
	case "entries":
		open(c, v)
	}
}

// picked is the key of the selected row of a table if it has the keyboard; "" if it has not.
func picked(v *view, table string) string {
	if g := v.grid(); g != nil && g.name == table {
		if r, ok := g.row(); ok {
			return r.Key
		}
	}
	return ""
}

// counted is the code of the selected row of the stock if that is of a kind, such as lot.
func counted(v *view, kind string) string {
	code, _ := strings.CutPrefix(picked(v, "counts"), kind+" ")
	if kind+" "+code != picked(v, "counts") {
		return ""
	}
	return code
}

func otherRun(c *console, v *view) {
	line, _, _ := strings.Cut(picked(v, "made"), "/")
	if line == "" {
		line = c.used["line"]
	}
	c.runForm(line, "", "")
}

func otherReceipt(c *console, v *view) {
	for _, d := range c.in().Deliveries {
		if d.Code == picked(v, "receipts") {
			c.receiptForm(d)
			return
		}
	}
	c.anyReceiptForm()
}

func processRun(c *console, v *view) { c.processForm(counted(v, "lot")) }

func lotTest(c *console, v *view) { c.testForm(counted(v, "lot"), "") }

func holdOrRelease(c *console, v *view) {
	code := counted(v, "lot")
	decision := "hold"
	for _, l := range c.in().Lots {
		if l.Code == code && l.Hold {
			decision = "release"
		}
	}
	c.testForm(code, decision)
}

func shipment(c *console, v *view) { c.shipmentForm(picked(v, "shipments"), counted(v, "profile")) }

func newETA(c *console, v *view) { c.etaForm(picked(v, "receipts")) }

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
	for _, name := range []string{"line", "step", "grade", "shift"} { // the next form begins with them
		if s, ok := e.Fields[name]; ok && s != "" {
			c.used[name] = s
		}
	}
	c.selectEntry(id)
	c.reload()
	c.say("Recorded: %s. x takes it back.", said)
	return nil
}

// selectEntry takes in what was recorded lately, and selects an entry of it for when the table is next drawn.
func (c *console) selectEntry(id int64) {
	if list, err := c.need.Recorder.Entries(c.ctx, c.facts.Today()-Lately); err == nil {
		c.known.Entries = list
	}
	for _, v := range c.views {
		if g := v.grids["entries"]; g != nil {
			g.key = fmt.Sprint(id)
		}
	}
}

// entry is the record of the selected row, else the last one made here; 0 if there is none.
func (c *console) entry(v *view) int64 {
	if id, err := strconv.ParseInt(picked(v, "entries"), 10, 64); err == nil {
		return id
	}
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
	id, what := c.entry(v), ""
	for _, e := range c.facts.Known.Entries {
		if e.ID == id {
			what = fmt.Sprintf(", %s %s of %s,", e.Head.Kind, c.facts.EntryWords(e.Record), c.facts.Date(e.Head.Day))
		}
	}
	return fmt.Sprintf("Take record %d%s back? Stock and lots become what they were without it.", id, what)
}

func takeBackRecord(c *console, v *view) {
	id := c.entry(v)
	if err := c.need.Recorder.Undo(c.ctx, id); err != nil {
		c.warn(err)
		return
	}
	c.entries = slices.DeleteFunc(c.entries, func(x int64) bool { return x == id })
	c.reload()
	c.say("Record %d is taken back.", id)
}
