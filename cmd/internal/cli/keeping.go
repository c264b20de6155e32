package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
)

func (a *app) backup() *cobra.Command {
	var force bool
	c := &cobra.Command{
		Use:   "backup [FILE|DIR]",
		Short: "Copy the book while it is in use; the copy is proven whole",
		Long: `backup writes a copy of the book, while others use it, into the folder backups
beside it, or to the file or folder named. The copy appears whole or not at all
and is proven before it gets its name.`,
		Example: "  feedline backup\n  feedline backup /mnt/safe/plant.book",
		Args:    cobra.MaximumNArgs(1),
	}
	c.Flags().BoolVar(&force, "force", false, "overwrite the file")
	c.RunE = func(c *cobra.Command, args []string) error { return a.runBackup(c.Context(), args, force) }
	return c
}

// keepByHand is how many backups of a folder the command leaves: it takes none out that a person would miss.
const keepByHand = 10000

func (a *app) runBackup(ctx context.Context, args []string, force bool) error {
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	if len(args) == 1 && !isFolder(args[0]) {
		if err := b.Backup(ctx, args[0], force); err != nil {
			return err
		}
		a.say("wrote %s; back to it with: feedline restore %s", args[0], args[0])
		return nil
	}
	dir := filepath.Join(filepath.Dir(a.path()), "backups")
	if len(args) == 1 {
		dir = args[0]
	}
	file, _, err := b.BackupInto(ctx, dir, keepByHand)
	if err != nil {
		return err
	}
	a.say("wrote %s; back to it with: feedline restore %s", file, file)
	return nil
}

func (a *app) restore() *cobra.Command {
	var yes bool
	c := &cobra.Command{
		Use:   "restore COPY",
		Short: "Make the book what a copy of it is; what was there is kept aside",
		Long: `restore proves the copy whole and puts it in the place of the book. A book that
is sound is overwritten within, so that others may have it open, and a copy of
it as it was is left beside it; a damaged one is moved aside. Without --yes it
only says what it would do.`,
		Example: "  feedline restore backups/plant-20270104T010000Z.book\n  feedline restore --yes backups/plant-20270104T010000Z.book",
		Args:    cobra.ExactArgs(1),
	}
	c.Flags().BoolVar(&yes, "yes", false, "do it")
	c.RunE = func(c *cobra.Command, args []string) error { return a.runRestore(c.Context(), args[0], yes) }
	return c
}

func (a *app) runRestore(ctx context.Context, from string, yes bool) error {
	if !yes {
		r, err := book.Check(ctx, from)
		if err != nil {
			return err
		}
		if len(r.Wrong) > 0 {
			return badInput{fmt.Errorf("%s is not whole: %s", from, r.Wrong[0]), "choose another copy"}
		}
		a.say("%s is whole: version %d of the records, %d plans. To make %s what it is: feedline restore --yes %s", from, r.Version, r.Plans, a.path(), from)
		return nil
	}
	out, err := book.Restore(ctx, from, a.path())
	if err != nil {
		return err
	}
	if out.Aside != "" {
		a.say("what was there is kept as %s", out.Aside)
	}
	a.say("%s is now what %s is, version %d of the records", a.path(), from, out.Version)
	return nil
}

// errNotWhole ends a check that found something.
var errNotWhole = errors.New("the book is not whole")

// checkSchema names the form of check --json.
const checkSchema = "feedline.check/1"

// checkReport is what check --json prints.
type checkReport struct {
	Schema    string   `json:"schema"`
	Book      string   `json:"book"`
	Whole     bool     `json:"whole"`
	Wrong     []string `json:"wrong"`
	Derived   []string `json:"derived"`
	Version   int64    `json:"version"`
	Form      int      `json:"book_schema"`
	Rows      int      `json:"rows"`
	Revisions int      `json:"revisions"`
	Changes   int      `json:"changes"`
	Plans     int      `json:"plans"`
	Entries   int      `json:"entries"`
	Alerts    int      `json:"alerts"`
	Deeds     int      `json:"deeds"`
}

func (a *app) check() *cobra.Command {
	var asJSON, rebuild bool
	c := &cobra.Command{
		Use:   "check",
		Short: "Prove the book whole: structure, references, log of changes, plans",
		Long: `check proves the book whole without changing it: the file's structure, the
references between its tables, that its log of changes leads to exactly the rows
there are, that every plan can be read and agrees with its heading. It exits
with 1 if anything is wrong. --rebuild makes anew what is derived.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return a.runCheck(c.Context(), asJSON, rebuild) },
	}
	c.Flags().BoolVar(&asJSON, "json", false, "as JSON, schema "+checkSchema)
	c.Flags().BoolVar(&rebuild, "rebuild", false, "first make derived data anew: headings of plans, indexes")
	return c
}

func (a *app) runCheck(ctx context.Context, asJSON, rebuild bool) error {
	if rebuild {
		if err := a.rebuild(ctx); err != nil {
			return err
		}
	}
	r, err := book.Check(ctx, a.path())
	if err != nil {
		return err
	}
	if asJSON {
		e := json.NewEncoder(a.Out)
		e.SetIndent("", "  ")
		err = e.Encode(checkReport{Schema: checkSchema, Book: r.Path, Whole: r.OK(), Wrong: append([]string{}, r.Wrong...), Derived: append([]string{}, r.Derived...),
			Version: int64(r.Version), Form: r.Schema, Rows: r.Rows, Revisions: r.Revisions, Changes: r.Changes, Plans: r.Plans, Entries: r.Entries, Alerts: r.Alerts, Deeds: r.Deeds})
		if err != nil {
			return err
		}
	} else {
		for _, w := range append(r.Wrong, r.Derived...) {
			fmt.Fprintf(a.Out, "wrong: %s\n", w)
		}
		if r.OK() {
			fmt.Fprintf(a.Out, "%s is whole: version %d, %d rows, %d changes in %d revisions, %d plans, %d entries, %d alerts\n",
				r.Path, r.Version, r.Rows, r.Changes, r.Revisions, r.Plans, r.Entries, r.Alerts)
		}
	}
	switch {
	case len(r.Wrong) > 0:
		return badInput{errNotWhole, "go back to a copy: feedline restore COPY"}
	case len(r.Derived) > 0:
		return badInput{errNotWhole, "feedline check --rebuild"}
	}
	return nil
}

func (a *app) rebuild(ctx context.Context) error {
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	n, err := b.Rebuild(ctx)
	if err == nil {
		a.say("made the indexes anew and corrected %d headings", n)
	}
	return err
}
