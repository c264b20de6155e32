package console

import (
	"fmt"
	"strings"

	"feedline/inventory/quantity"
	"feedline/planner"
)

// ordersKeys are the keys of the screen of orders.
var ordersKeys = []binding{
	{keys: []string{"p"}, verb: "promise", help: "when could an enquiry be met: PROFILE LENGTH", off: noPlan, do: enquire},
	{keys: []string{"a"}, verb: "add", help: "what if there were an order more: PROFILE LENGTH DAY [PRIORITY]", off: noPlan, do: ask("orders", "Add order", orderWords)},
	{keys: []string{"m"}, verb: "move", help: "what if the order were due on another day", off: noOrder, do: ask("orders", "Due", dueWords)},
	{keys: []string{"x"}, verb: "cancel", help: "what if the order were cancelled", off: noOrder, do: cancelOrder},
}

func noPlan(c *console, _ *view) string {
	if len(c.plan().Buckets) == 0 {
		return "there is no plan yet: r plans"
	}
	return ""
}

func (c *console) order(v *view) (planner.Order, bool) {
	if g := v.grid(); g != nil {
		r, ok := g.row()
		for _, o := range c.in().Orders {
			if ok && o.Code == r.Key {
				return o, true
			}
		}
	}
	return planner.Order{}, false
}

func noOrder(c *console, v *view) string {
	if _, ok := c.order(v); !ok {
		return "no order is selected"
	}
	return ""
}

// likely is the profile of the selected order, else the first of the book.
func (c *console) likely(v *view) string {
	if o, ok := c.order(v); ok {
		return o.Profile
	}
	if p := c.in().Profiles; len(p) > 0 {
		return p[0].Code
	}
	return ""
}

func orderWords(c *console, v *view) string {
	return fmt.Sprintf("order %s 5000m %s", c.likely(v), c.facts.Today()+28)
}

func dueWords(c *console, v *view) string {
	o, _ := c.order(v)
	return fmt.Sprintf("move %s %s", o.Code, o.Due+7)
}

func cancelOrder(c *console, v *view) {
	o, _ := c.order(v)
	if err := c.do("orders", "cancel "+o.Code); err != nil {
		c.warn(err)
	}
}

// enquire asks for a profile and a length, and works out in the background when it can be promised.
func enquire(c *console, v *view) {
	f := c.prompt("Enquiry", c.likely(v)+" 5000 m", func(s string) error {
		profile, rest, _ := strings.Cut(strings.TrimSpace(s), " ")
		length, err := quantity.ParseLength(rest, c.in().Plant.Units)
		if err != nil {
			return err
		}
		in, plan := c.in(), c.plan()
		c.say("Looking for a date for %s %s …", profile, rest)
		c.background(func() func() {
			said, err := c.need.Planner.Promise(c.ctx, in, plan, profile, length)
			return func() {
				if err != nil {
					c.warn(err)
					return
				}
				c.known.Promise = said
				c.say("%s", said)
				c.gather()
			}
		})
		return nil
	})
	f.fields[0].hint = "PROFILE LENGTH"
}
