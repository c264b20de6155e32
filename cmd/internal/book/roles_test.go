package book

import (
	"context"
	"errors"
	"io/fs"
	"strings"
	"testing"

	"feedline/planner"
)

// as is the book as another user would have it open.
func as(b *Book, name string, groups ...string) *Book {
	other := *b
	other.actor = Actor{name, groups}
	return &other
}

func grant(t *testing.T, b *Book, list ...Grant) {
	t.Helper()
	for _, g := range list {
		if err := b.AddRole(context.Background(), g); err != nil {
			t.Fatalf("%s: %v", g, err)
		}
	}
}

// denied fails unless err is a *DeniedError that names who and is an fs.ErrPermission.
func denied(t *testing.T, what, who string, err error) {
	t.Helper()
	var d *DeniedError
	if !errors.As(err, &d) || d.Who != who || !errors.Is(err, fs.ErrPermission) || !strings.Contains(err.Error(), who+" may not") || d.Hint() == "" {
		t.Errorf("%s: error %v, want it denied to %s", what, err, who)
	}
}

// Each role writes its own tables and no others; nothing of a save that is denied in part is kept.
func TestRolesBoundWhatIsSaved(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	grant(t, as(b, "boss"), Grant{"user", "boss", RoleAdmin}, Grant{"user", "anna", RoleScheduler}, Grant{"group", "buyers", RolePurchasing}, Grant{"user", "owen", RoleOwner})
	anna, ben, owen, stranger := as(b, "Anna"), as(b, "ben", "users", "buyers"), as(b, "owen"), as(b, "eve")
	demand := func(in *planner.Input) { in.Orders[0].Length++ }
	supply := func(in *planner.Input) { in.Lanes[0].Price++ }
	both := func(in *planner.Input) { demand(in); supply(in) }
	for _, c := range []struct {
		what string
		who  *Book
		edit func(*planner.Input)
		ok   bool
	}{
		{"scheduler changes demand", anna, demand, true},
		{"scheduler changes supply", anna, supply, false},
		{"purchasing changes supply", ben, supply, true},
		{"purchasing changes demand", ben, demand, false},
		{"purchasing changes both", ben, both, false},
		{"owner changes demand", owen, demand, false},
		{"somebody without a role changes supply", stranger, supply, false},
		{"admin changes both", as(b, "boss"), both, true},
	} {
		before, v := mustLoad(t, b)
		next, _ := mustLoad(t, b)
		c.edit(next)
		_, err := c.who.Save(ctx, next, SaveOptions{Expect: v})
		if !c.ok {
			denied(t, c.what, c.who.actor.Name, err)
			keeps(t, b, before)
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", c.what, err)
		}
		list, err := b.Changes(ctx, v)
		if err != nil || len(list) == 0 || list[0].Who != c.who.actor.Name {
			t.Errorf("%s: the log has %v, %v", c.what, list, err)
		}
	}
}

func TestRolesBoundPlansAndAlerts(t *testing.T) {
	b := fresh(t)
	mustSave(t, b, small())
	grant(t, as(b, "boss"), Grant{"user", "boss", RoleAdmin}, Grant{"user", "anna", RoleScheduler}, Grant{"user", "ben", RolePurchasing}, Grant{"user", "owen", RoleOwner}, Grant{"user", "robot", RoleWatch})
	p := plans().Example(1)
	nothing := func([]StoredAlert) (AlertChange, error) { return AlertChange{}, nil }
	all := map[string]func(*Book) error{
		"plan":    func(b *Book) error { _, err := b.SavePlan(ctx, p, PlanMeta{}); return err },
		"release": func(b *Book) error { return b.Release(ctx, 1, "x") },
		"answer":  func(b *Book) error { return b.ChangeAlerts(ctx, RightAlerts, nothing) },
		"keep":    func(b *Book) error { return b.KeepJob(ctx, JobState{Name: "plan"}) },
		"roles":   func(b *Book) error { return b.AddRole(ctx, Grant{"user", "owen", RoleOwner}) },
	}
	for who, may := range map[string]string{"boss": "plan release answer keep roles", "anna": "plan release answer keep", "ben": "answer keep", "owen": "", "robot": "plan keep", "eve": ""} {
		for what, do := range all {
			err := do(as(b, who))
			if strings.Contains(may, what) {
				if err != nil {
					t.Errorf("%s %s: %v", who, what, err)
				}
				continue
			}
			denied(t, what, who, err)
		}
		if _, _, err := as(b, who).Load(ctx); err != nil {
			t.Errorf("%s reads: %v", who, err)
		}
	}
	list, err := b.Deeds(ctx)
	if err != nil {
		t.Fatal(err)
	}
	var saved []string
	for _, d := range list {
		if d.Deed == "plan saved" {
			saved = append(saved, d.Who)
		}
	}
	if len(saved) != 3 {
		t.Errorf("plans saved by %q in the log, want three", saved)
	}
}

// Roles can't be set so that nobody could set them.
func TestRolesKeepAnAdmin(t *testing.T) {
	b := fresh(t)
	var last *LastAdminError
	if err := b.AddRole(ctx, Grant{"user", "anna", RoleScheduler}); !errors.As(err, &last) {
		t.Errorf("a first role that is no admin: %v", err)
	}
	me := Grant{"user", b.actor.Name, RoleAdmin}
	grant(t, b, me, Grant{"user", "anna", RoleScheduler})
	if err := b.RemoveRole(ctx, me); !errors.As(err, &last) {
		t.Errorf("the last admin goes: %v", err)
	}
	if err := b.RemoveRole(ctx, Grant{"user", "anna", RoleScheduler}); err != nil {
		t.Error(err)
	}
	if err := b.RemoveRole(ctx, me); err != nil {
		t.Errorf("the last role of all: %v", err)
	}
	if err := as(b, "anybody").AddRole(ctx, Grant{"planet", "x", RoleAdmin}); err == nil {
		t.Error("a role for a planet")
	}
}

// The user is the operating system's, whatever the environment says.
func TestActorIsNotOfTheEnvironment(t *testing.T) {
	before := Me()
	t.Setenv("USER", "boss")
	t.Setenv("USERNAME", "boss")
	t.Setenv("LOGNAME", "boss")
	u, err := currentUser()
	if err == nil && bareName(u.Username) != before.Name || before.Name == "" {
		t.Errorf("the user is %v, %v; want %s", u, err, before.Name)
	}
	if got := bareName(`WORKS\anna`); got != "anna" {
		t.Errorf("WORKS\\anna is %q", got)
	}
}
