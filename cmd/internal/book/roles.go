package book

import (
	"context"
	"database/sql"
	"fmt"
	"io/fs"
	"slices"
	"strings"
)

// The roles. Whoever has none, in a book that has roles, may read.
const (
	RoleAdmin      = "admin"      // everything, and the roles themselves
	RoleScheduler  = "scheduler"  // plans, releases, demand, the floor, stock and lots
	RolePurchasing = "purchasing" // suppliers, lanes, deliveries, materials, lots
	RoleOwner      = "owner"      // reads
	RoleWatch      = "watch"      // what feedline watch does: plans, alerts, jobs
)

// Roles lists them.
var Roles = []string{RoleAdmin, RoleScheduler, RolePurchasing, RoleOwner, RoleWatch}

// Right is something that a role may be needed for: the name of a table of the records, or one of the words below.
type Right string

// The rights beside those to the tables of the records.
const (
	RightPlan    Right = "save plans"
	RightRelease Right = "release plans"
	RightAlerts  Right = "answer alerts"
	RightWatch   Right = "keep alerts and jobs"
	RightRecord  Right = "record actuals"
	RightRoles   Right = "set roles"
	RightRestore Right = "restore the book"
	RightSetting Right = "keep settings"
)

// supply is the tables that purchasing writes; shared those that both purchasing and the scheduler write.
var (
	supply = []Right{"suppliers", "lanes", "deliveries", "materials"}
	shared = []Right{"lots"}
)

// holders is the roles that have a right. All other tables of the records are the scheduler's.
func (r Right) holders() []string {
	switch {
	case r == RightRoles || r == RightRestore:
		return []string{RoleAdmin}
	case r == RightPlan:
		return []string{RoleAdmin, RoleScheduler, RoleWatch}
	case r == RightWatch || r == RightSetting:
		return []string{RoleAdmin, RoleScheduler, RolePurchasing, RoleWatch}
	case slices.Contains(supply, r):
		return []string{RoleAdmin, RolePurchasing}
	case r == RightAlerts || r == RightRecord || slices.Contains(shared, r):
		return []string{RoleAdmin, RoleScheduler, RolePurchasing}
	}
	return []string{RoleAdmin, RoleScheduler}
}

// DeniedError says that somebody's role does not allow what they tried. It is an fs.ErrPermission.
type DeniedError struct {
	Who   string
	Has   []string // roles
	Right Right
	Needs []string // one of these roles
}

func (e *DeniedError) Error() string {
	what := string(e.Right)
	if !strings.Contains(what, " ") {
		what = "change " + what
	}
	has := "no role"
	if len(e.Has) > 0 {
		has = "the role " + strings.Join(e.Has, ", ")
	}
	return fmt.Sprintf("%s may not %s: has %s, it takes %s", e.Who, what, has, strings.Join(e.Needs, " or "))
}

// Hint is what to do.
func (e *DeniedError) Hint() string {
	return fmt.Sprintf("nothing was saved; ask an admin of the book for: feedline roles add user:%s %s", e.Who, e.Needs[len(e.Needs)-1])
}

// Is makes it an fs.ErrPermission.
func (e *DeniedError) Is(target error) bool { return target == fs.ErrPermission }

// Grant gives a role to a user or to a group of the operating system.
type Grant struct {
	Kind string // user or group
	Name string
	Role string
}

func (g Grant) String() string { return g.Kind + ":" + g.Name + " " + g.Role }

// Roles lists who has which role.
func (b *Book) Roles(ctx context.Context) (all []Grant, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		all, err = grants(ctx, tx)
		return err
	})
	return all, err
}

func grants(ctx context.Context, tx *sql.Tx) (all []Grant, err error) {
	rows, err := tx.QueryContext(ctx, "SELECT kind, name, role FROM roles ORDER BY kind DESC, name, role")
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var g Grant
		if err := rows.Scan(&g.Kind, &g.Name, &g.Role); err != nil {
			return nil, err
		}
		all = append(all, g)
	}
	return all, rows.Err()
}

// rolesOf is the roles of an actor, and whether the book has roles at all.
func rolesOf(ctx context.Context, tx *sql.Tx, a Actor) (has []string, set bool, err error) {
	all, err := grants(ctx, tx)
	if err != nil {
		return nil, false, err
	}
	for _, g := range all {
		if a.is(g.Kind, g.Name) && !slices.Contains(has, g.Role) {
			has = append(has, g.Role)
		}
	}
	return has, len(all) > 0, nil
}

// may returns a *DeniedError unless the book's user has one of the roles that a right takes.
func (b *Book) may(ctx context.Context, tx *sql.Tx, r Right) error {
	has, set, err := rolesOf(ctx, tx, b.actor)
	if err != nil || !set {
		return err
	}
	needs := r.holders()
	if slices.ContainsFunc(has, func(role string) bool { return slices.Contains(needs, role) }) {
		return nil
	}
	return &DeniedError{Who: b.actor.Name, Has: has, Right: r, Needs: needs}
}

// LastAdminError is returned for a change that would leave roles that nobody could change.
type LastAdminError struct{ Grant Grant }

func (e *LastAdminError) Error() string {
	return fmt.Sprintf("%s: a book with roles needs an admin", e.Grant)
}

// Hint is what to do.
func (e *LastAdminError) Hint() string {
	return "give that role first: feedline roles add user:NAME admin"
}

// AddRole gives a role. The first one must make an admin.
func (b *Book) AddRole(ctx context.Context, g Grant) error {
	return b.changeRoles(ctx, g, "role given", "INSERT INTO roles (kind, name, role) VALUES (?, ?, ?) ON CONFLICT DO NOTHING")
}

// RemoveRole takes a role away; the last admin goes last of all.
func (b *Book) RemoveRole(ctx context.Context, g Grant) error {
	return b.changeRoles(ctx, g, "role taken", "DELETE FROM roles WHERE kind = ? AND name = ? AND role = ?")
}

func (b *Book) changeRoles(ctx context.Context, g Grant, deed, query string) error {
	if !slices.Contains(Roles, g.Role) || g.Kind != "user" && g.Kind != "group" || strings.TrimSpace(g.Name) == "" {
		return &RowError{"roles", g.Kind + ":" + g.Name, "role", shown(g.Role), "user:NAME or group:NAME, and one of " + strings.Join(Roles, ", ")}
	}
	return b.write(ctx, func(tx *sql.Tx) error {
		if err := b.may(ctx, tx, RightRoles); err != nil {
			return err
		}
		res, err := tx.ExecContext(ctx, query, g.Kind, g.Name, g.Role)
		if err != nil {
			return err
		}
		if n, err := res.RowsAffected(); err != nil || n == 0 {
			return err
		}
		all, err := grants(ctx, tx)
		if err != nil {
			return err
		}
		if len(all) > 0 && !slices.ContainsFunc(all, func(g Grant) bool { return g.Role == RoleAdmin }) {
			return &LastAdminError{g}
		}
		return b.did(ctx, tx, deed, g.Kind+":"+g.Name, g.Role)
	})
}
