// Package console is the terminal console: a screen for each of the questions that three people ask all day, on one draft.
//
// What the screens say, and why they say it so, is in package rows, as pure functions; here is what it takes to show it and to act
// on it. A screen is a name, its page and a list of bindings. A binding is data: a key, a verb, what it does, whether it needs a
// question first, and why it can't be used just now; the bar at the foot, the page behind ? and README.md come from that list.
//
// The session holds the book as it was loaded and the draft: a list of steps, each with its edits, the records that they make and
// the plan of those. Each edit plans again in the background, from the plan before it; what is shown stays until the new plan is
// there. Nothing is saved before it is accepted on the screen of changes; then edits, plan and release go into the book, unless
// the book has changed since: that is refused, and said, and the draft can be put on the book as it is now.
//
// Only the goroutine of the terminal touches the session and the widgets. Others hand it functions to run, see post.
//
// The console imports the planner and what lies below. What it needs done beside is in Needs, for the command line to provide.
package console
