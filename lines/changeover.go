package lines

// AnyFamily stands for any die family in a Changeover.
const AnyFamily = "*"

// ChangeoverBetween is the row of list that counts for a change from one die family to another. The most exact match
// wins: From and To, then To with any From, then From with any To, then any to any; of equal ones the first.
// A change within a family takes nothing, unless a row names the family as both From and To; wildcards do not apply.
// A line with nothing mounted has the family "": it is matched by rows whose From is "" or "*".
// False if no row matches: then nothing is known of the change and it takes nothing.
func ChangeoverBetween(list []Changeover, from, to string) (Changeover, bool) {
	tries := [][2]string{{from, to}, {AnyFamily, to}, {from, AnyFamily}, {AnyFamily, AnyFamily}}
	if from == to {
		tries = tries[:1]
	}
	for _, t := range tries {
		for _, c := range list {
			if c.From == t[0] && c.To == t[1] {
				return c, true
			}
		}
	}
	return Changeover{From: from, To: to}, from == to
}
