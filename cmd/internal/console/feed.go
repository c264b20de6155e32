package console

import (
	"fmt"
	"strconv"

	"feedline/inventory"
	"feedline/planner"
)

// feedKeys are the keys of the screen of feed: each is for the rows of one of its tables.
var feedKeys = []binding{
	{keys: []string{"t"}, verb: "ETA", help: "a delivery comes on another day, in the draft; d on Records records it", off: noDelivery, do: ask("feed", "New ETA", etaWords)},
	{keys: []string{"c"}, verb: "receive", help: "a delivery is here: it becomes a lot", off: noDelivery, do: receive},
	{keys: []string{"x"}, verb: "reject", help: "a delivery never comes, or is sent back", off: noDelivery, do: rejectDelivery},
	{keys: []string{"b"}, verb: "hold", help: "put a lot on hold", off: noFreeLot, do: holdLot("hold")},
	{keys: []string{"n"}, verb: "release", help: "a lot on hold may be used", off: noHeldLot, do: holdLot("free")},
	{keys: []string{"a"}, verb: "add load", help: "loads more on a lane", off: noLane, do: ask("feed", "Add loads", loadWords)},
}

// delivery is the one selected, if the deliveries have the keyboard.
func (c *console) delivery(v *view) (inventory.Delivery, bool) {
	if v.focus != "deliveries" {
		return inventory.Delivery{}, false
	}
	r, ok := v.grid().row()
	for _, d := range c.in().Deliveries {
		if ok && d.Code == r.Key {
			return d, true
		}
	}
	return inventory.Delivery{}, false
}

func noDelivery(c *console, v *view) string {
	d, ok := c.delivery(v)
	switch {
	case !ok:
		return "it is for deliveries: Tab goes there"
	case !d.Coming():
		return d.Code + " is " + string(d.Status)
	}
	return ""
}

func etaWords(c *console, v *view) string {
	d, _ := c.delivery(v)
	return fmt.Sprintf("delay %s %s", d.Code, max(d.ETA, c.facts.Today())+7)
}

func rejectDelivery(c *console, v *view) {
	d, _ := c.delivery(v)
	if err := c.do("feed", "lose "+d.Code); err != nil {
		c.warn(err)
	}
}

// receive books a delivery in: as a record where records can be entered, else as an edit of the draft.
func receive(c *console, v *view) {
	d, _ := c.delivery(v)
	if c.need.Recorder != nil {
		c.receiptForm(d)
		return
	}
	edits := []planner.Edit{
		planner.SetCell(planner.TableDeliveries, d.Code, "status", string(inventory.Received)),
		planner.AddRow(planner.TableLots, map[string]string{"code": d.Code, "material": d.Material,
			"mass": strconv.FormatFloat(float64(d.Mass), 'f', -1, 64) + " kg", "received": c.facts.Today().String()}),
	}
	if err := c.edit("feed", "receive "+d.Code, edits); err != nil {
		c.warn(err)
	}
}

// lot is the one selected, if the lots have the keyboard.
func (c *console) lot(v *view) (inventory.Lot, bool) {
	if v.focus != "lots" {
		return inventory.Lot{}, false
	}
	r, ok := v.grid().row()
	for _, l := range c.in().Lots {
		if ok && l.Code == r.Key {
			return l, true
		}
	}
	return inventory.Lot{}, false
}

const forLots = "it is for lots in the yard: Tab goes there"

func noFreeLot(c *console, v *view) string {
	l, ok := c.lot(v)
	switch {
	case !ok:
		return forLots
	case l.Hold:
		return l.Code + " is on hold already"
	}
	return ""
}

func noHeldLot(c *console, v *view) string {
	l, ok := c.lot(v)
	switch {
	case !ok:
		return forLots
	case !l.Hold:
		return l.Code + " is not on hold"
	}
	return ""
}

func holdLot(verb string) func(*console, *view) {
	return func(c *console, v *view) {
		l, _ := c.lot(v)
		if err := c.do("feed", verb+" "+l.Code); err != nil {
			c.warn(err)
		}
	}
}

// lane is the one selected, if the lanes have the keyboard.
func (c *console) lane(v *view) (inventory.Lane, bool) {
	if v.focus != "lanes" {
		return inventory.Lane{}, false
	}
	r, ok := v.grid().row()
	for _, l := range c.in().Lanes {
		if ok && l.Code == r.Cells[0].Text {
			return l, true
		}
	}
	return inventory.Lane{}, false
}

func noLane(c *console, v *view) string {
	if _, ok := c.lane(v); !ok {
		return "it is for lanes: Tab goes there"
	}
	return ""
}

// loadWords adds the least loads of the lane, ordered today.
func loadWords(c *console, v *view) string {
	l, _ := c.lane(v)
	day := inventory.LoadArrival(l, c.facts.Today(), c.in().Plant.ArrivesBy())
	return fmt.Sprintf("load %s %d %s", l.Code, max(1, l.MinLoads), day)
}
