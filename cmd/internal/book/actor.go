package book

import (
	"fmt"
	"os"
	"os/user"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// Actor is who uses the book, as the operating system knows them.
type Actor struct {
	Name   string   // of the user; without the machine or domain that Windows puts before it
	Groups []string // names, or numbers of groups without one
}

// Me is the user that this process runs as. The environment is not asked: it says what the user wants it to.
var Me = sync.OnceValue(func() Actor {
	u, err := currentUser()
	if err != nil {
		return Actor{Name: fmt.Sprint("uid ", os.Getuid())}
	}
	a := Actor{Name: bareName(u.Username)}
	ids, err := u.GroupIds()
	if err != nil {
		return a
	}
	for _, id := range ids {
		name := id
		if g, err := user.LookupGroupId(id); err == nil {
			name = bareName(g.Name)
		}
		a.Groups = append(a.Groups, name)
	}
	return a
})

// currentUser looks the user up by number where users have numbers: user.Current may fall back on the environment.
func currentUser() (*user.User, error) {
	if id := os.Getuid(); id >= 0 {
		return user.LookupId(strconv.Itoa(id))
	}
	return user.Current()
}

// bareName is anna for WORKS\anna.
func bareName(name string) string { return name[strings.LastIndex(name, `\`)+1:] }

// is reports whether a row of the roles speaks of the actor. Names are told apart without regard to case, as Windows does.
func (a Actor) is(kind, name string) bool {
	if kind == "user" {
		return strings.EqualFold(name, a.Name)
	}
	return slices.ContainsFunc(a.Groups, func(g string) bool { return strings.EqualFold(g, name) })
}
