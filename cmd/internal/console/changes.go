package console

import "fmt"

// changesKeys are the keys of the screen of changes: here a draft becomes the promise, or is dropped.
var changesKeys = []binding{
	{keys: []string{"a"}, verb: "release", help: "save the edits and the plan, and release it: it becomes the promise", danger: true, question: acceptQuestion, off: noAccept, do: func(c *console, _ *view) { c.accept() }},
	{keys: []string{"s"}, verb: "save", help: "save the edits and the plan without releasing it: the promise stays", off: noSave, do: func(c *console, _ *view) { c.keep() }},
	{keys: []string{"x"}, verb: "take out", help: "take the selected edit out of the draft", off: noEdit, do: takeOut},
	{keys: []string{"D"}, verb: "drop", help: "drop the draft: the book stays as it is", danger: true, question: dropQuestion, off: noDraft, do: func(c *console, _ *view) { c.drop() }},
}

func noAccept(c *console, _ *view) string {
	switch {
	case c.solve != nil:
		return "a plan is being made: wait, or stop it with Ctrl-C and keep the best"
	case len(c.plan().Buckets) == 0:
		return "there is no plan yet: r plans"
	case !c.planned():
		return "the plan shown is not of these records: r plans"
	case len(c.draft.steps) == 0 && c.draft.again == nil && c.stored.Release.ID == c.stored.PlanID && c.stored.PlanID != 0:
		return "this plan is released already"
	}
	return ""
}

func noSave(c *console, v *view) string {
	if s := noDraft(c, v); s != "" {
		return s
	}
	if c.solve != nil || !c.planned() {
		return noAccept(c, v)
	}
	return ""
}

func acceptQuestion(c *console, _ *view) string {
	d := c.facts.Delta()
	text := "Release this plan? It becomes the promise."
	if n := len(c.draft.steps); n > 0 {
		text = fmt.Sprintf("Save %s and release the plan? It becomes the promise.", plural(n, "edit"))
	}
	if d.Known && d.Runs > 0 {
		text += fmt.Sprintf(" Against the promise, %s.", runs(d.Runs))
	}
	return text
}

func noDraft(c *console, _ *view) string {
	if len(c.draft.steps) == 0 && c.draft.again == nil {
		return "there is no draft"
	}
	return ""
}

func runs(n int) string {
	if n == 1 {
		return "1 run differs"
	}
	return fmt.Sprintf("%d runs differ", n)
}

func dropQuestion(c *console, _ *view) string {
	return fmt.Sprintf("Drop the draft of %s?", plural(len(c.draft.steps), "edit"))
}

func noEdit(c *console, v *view) string {
	if v.focus != "edits" {
		return "it is for edits: Tab goes there"
	}
	if len(c.draft.steps) == 0 {
		return "there are no edits"
	}
	return noRow(c, v)
}

func takeOut(c *console, v *view) {
	r, _ := v.grid().row()
	if err := c.take(r.Key); err != nil {
		c.warn(err)
	}
}
