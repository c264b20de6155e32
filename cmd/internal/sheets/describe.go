package sheets

import (
	"fmt"
	"io"
	"strings"

	"feedline/inventory/quantity"
)

// Describe writes the documentation of the sheets, in Markdown: for every table its columns, what they hold and an example.
func Describe(w io.Writer, units quantity.System) error {
	for i := range tables {
		if err := tables[i].describe(w, units == quantity.US); err != nil {
			return err
		}
	}
	for i := range recordTables {
		if err := recordTables[i].describe(w, units == quantity.US); err != nil {
			return err
		}
	}
	return nil
}

func (t *table) describe(w io.Writer, us bool) error {
	var b strings.Builder
	fmt.Fprintf(&b, "## %s\n\n%s.\n\n", t.name, sentence(t.explain))
	b.WriteString("| column | holds | blank | meaning | example |\n|---|---|---|---|---|\n")
	for i := range t.columns {
		c := &t.columns[i]
		name := t.headed(c, us)
		if i < t.keys {
			name += " (key)"
		}
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s |\n", name, c.holds(), c.whenBlank(), c.explain, t.exampleText(c, us))
	}
	b.WriteString("\n")
	_, err := io.WriteString(w, b.String())
	return err
}

func sentence(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// holds says what c's cells hold, with the units that a heading may have.
func (c *column) holds() string {
	s := c.allowed(c.unit(false))
	if c.above || c.most > 0 || c.kind != kindAmount {
		return s
	}
	return strings.TrimSuffix(s, ", 0 or more")
}

func (c *column) whenBlank() string {
	switch {
	case c.needed:
		return "no"
	case c.blank != "":
		return c.blank
	}
	return "yes"
}
