package cli

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/book"
)

func isFolder(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

func (a *app) roles() *cobra.Command {
	c := &cobra.Command{
		Use:   "roles",
		Short: "Who may write what: by user or group of the operating system",
		Long: `roles lists who has which role in the book. While nobody has one, everybody who
can open the book may do everything; the first role given must be an admin's.

  admin       everything, and the roles themselves
  scheduler   plans, releases, demand, the floor, stock and lots
  purchasing  suppliers, lanes, deliveries, materials and lots
  owner       reads
  watch       what feedline watch does: plans, alerts, jobs

Whoever has no role may read. The rules bind feedline: somebody who may write
the file could change it with another program, so set its permissions too.`,
		Example: "  feedline roles\n  feedline roles add user:anna admin\n  feedline roles add group:buyers purchasing\n  feedline roles remove user:anna admin",
		Args:    cobra.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return a.listRoles(c.Context()) },
	}
	add := &cobra.Command{Use: "add user:NAME|group:NAME ROLE", Short: "Give a role", Args: cobra.ExactArgs(2)}
	add.RunE = func(c *cobra.Command, args []string) error { return a.changeRole(c, args, (*book.Book).AddRole) }
	remove := &cobra.Command{Use: "remove user:NAME|group:NAME ROLE", Short: "Take a role away", Args: cobra.ExactArgs(2)}
	remove.RunE = func(c *cobra.Command, args []string) error { return a.changeRole(c, args, (*book.Book).RemoveRole) }
	c.AddCommand(add, remove)
	return c
}

func (a *app) listRoles(ctx context.Context) error {
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	list, err := b.Roles(ctx)
	if err != nil {
		return err
	}
	me := book.Me()
	if len(list) == 0 {
		fmt.Fprintf(a.Out, "No roles: everybody who can open the book may do everything. You are %s.\n", me.Name)
	}
	for _, g := range list {
		fmt.Fprintf(a.Out, "%-24s %s\n", g.Kind+":"+g.Name, g.Role)
	}
	return nil
}

func (a *app) changeRole(c *cobra.Command, args []string, change func(*book.Book, context.Context, book.Grant) error) error {
	kind, name, ok := strings.Cut(args[0], ":")
	if !ok {
		return usage(c, fmt.Errorf("%q, write user:NAME or group:NAME", args[0]))
	}
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	if err := change(b, c.Context(), book.Grant{Kind: kind, Name: name, Role: args[1]}); err != nil {
		return err
	}
	return a.listRoles(c.Context())
}

// logSchema names the form of a line of log --json.
const logSchema = "feedline.log/1"

// logLine is something that somebody did.
type logLine struct {
	Schema  string          `json:"schema"`
	At      time.Time       `json:"at"`
	Who     string          `json:"who"`
	Version int64           `json:"version,omitempty"`
	Deed    string          `json:"deed"`
	Subject string          `json:"subject"`
	Word    string          `json:"word,omitempty"`
	Before  json.RawMessage `json:"before,omitempty"`
	After   json.RawMessage `json:"after,omitempty"`
}

func (a *app) log() *cobra.Command {
	var asJSON bool
	var most int
	var who string
	c := &cobra.Command{
		Use:   "log",
		Short: "Who changed what, and when",
		Long: `log lists what was done to the book, the newest last: every row that was
entered, changed or taken out, with its values before and after; plans saved and
released; alerts; roles; restores.`,
		Example: "  feedline log\n  feedline log --who anna --last 100\n  feedline log --json --last 0 > audit.jsonl",
		Args:    cobra.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return a.printLog(c.Context(), asJSON, most, who) },
	}
	c.Flags().BoolVar(&asJSON, "json", false, "as lines of JSON, schema "+logSchema)
	c.Flags().IntVar(&most, "last", 40, "so many lines; 0 = all")
	c.Flags().StringVar(&who, "who", "", "only of this user")
	return c
}

func (a *app) printLog(ctx context.Context, asJSON bool, most int, who string) error {
	b, err := a.openBook()
	if err != nil {
		return err
	}
	defer b.Close()
	changes, err := b.Changes(ctx, 0)
	if err != nil {
		return err
	}
	deeds, err := b.Deeds(ctx)
	if err != nil {
		return err
	}
	zone, err := b.Zone(ctx)
	if err != nil {
		return err
	}
	list := logLines(changes, deeds)
	list = slices.DeleteFunc(list, func(l logLine) bool { return who != "" && l.Who != who })
	if most > 0 && len(list) > most {
		a.say("%d earlier lines are left out, see --last", len(list)-most)
		list = list[len(list)-most:]
	}
	e := json.NewEncoder(a.Out)
	for _, l := range list {
		if asJSON {
			err = e.Encode(l)
		} else {
			_, err = fmt.Fprintln(a.Out, l.text(zone))
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// logLines joins changes of records with other deeds, by time; a set-back clock leaves each list in its own order.
func logLines(changes []book.Change, deeds []book.Deed) (list []logLine) {
	for _, c := range changes {
		l := logLine{Schema: logSchema, At: c.At, Who: c.Who, Version: int64(c.Version), Subject: strings.TrimSpace(c.Table + " " + c.Key), Word: c.Note, Deed: "changed"}
		switch {
		case c.Before == "" && c.After == "":
			l.Deed = "ordered anew"
		case c.Before == "":
			l.Deed = "entered"
		case c.After == "":
			l.Deed = "taken out"
		}
		if c.Before != "" {
			l.Before = json.RawMessage(c.Before)
		}
		if c.After != "" {
			l.After = json.RawMessage(c.After)
		}
		list = append(list, l)
	}
	for _, d := range deeds {
		list = append(list, logLine{Schema: logSchema, At: d.At, Who: d.Who, Deed: d.Deed, Subject: d.Subject, Word: d.Word})
	}
	slices.SortStableFunc(list, func(x, y logLine) int { return x.At.Compare(y.At) })
	return list
}

// text is the line for people, by the plant's clock.
func (l logLine) text(zone *time.Location) string {
	s := fmt.Sprintf("%s  %-12s %s %s", l.At.In(zone).Format("2006-01-02 15:04:05"), cmp.Or(l.Who, "unknown"), l.Deed, l.Subject)
	if l.Before != nil && l.After != nil {
		s += ": " + columnChanges(l.Before, l.After)
	}
	if l.Word != "" {
		s += " (" + l.Word + ")"
	}
	return s
}

// columnChanges is what differs between two rows.
func columnChanges(before, after json.RawMessage) string {
	var was, is map[string]json.RawMessage
	if json.Unmarshal(before, &was) != nil || json.Unmarshal(after, &is) != nil {
		return "?"
	}
	var parts []string
	for c, v := range is {
		if old, known := was[c]; !known || string(old) != string(v) {
			parts = append(parts, fmt.Sprintf("%s %s → %s", c, old, v))
		}
	}
	slices.Sort(parts)
	return strings.Join(parts, ", ")
}
