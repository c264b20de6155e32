// Package audit checks a plan against the plant book without trusting what made it. It knows the book, the plan
// and the words of the domain; rates, yields, working hours, demand, balances and money are computed here a second
// time, from the sentences of the book's types, in exact rationals. It knows no model and no solver.
//
// What a plan means, where the types leave room:
//
//   - A bucket without hours for a line leaves it as it was: a line that stops for a Sunday is not started on Monday.
//     Otherwise a line that is on after a bucket in which it was not is started, and so is a line that is on in the
//     first bucket and was not running.
//   - A weekly bucket may hold several campaigns of a line one after another. A campaign without a changeover runs the
//     die that was on at the bucket's start and is the first. The die at the end is the one that was on, if none came
//     on in the bucket; else one of those that came on; a die may always come off. The same profile has one Run a bucket.
//   - Set-up hours, fitters' hours: the plan may book more than the best order of the bucket's changeovers takes, never less.
//     What changeovers cost is the most from any other profile of the line or from what was on it at the plan's start.
//     Changeover scrap may be anything from what is the least to what is the most for a change to the profile.
//   - A die counts for a line if it was on at the bucket's start or came on in it. 0 dies are no limit.
//   - A line that is not set up may run from the first bucket that begins Commissioning.Days after the decision;
//     the decision is taken at the start of a bucket, not before Commissioning.Earliest.
//   - Arrivals count from the day by which they have come with the plant's arrival quantile; what should have come before the
//     plan starts comes on its first day. Loads are ordered on the first day of a bucket. What arrives, is made or is recovered
//     in a bucket can be used in it.
//   - The least share of a material, HIPS, recycled content and melt flow rate are those of the feed without own regrind, which is
//     made of the same recipe; the most share of a material and of regrind are of the whole feed. All by mass of pellets made.
//   - Forecasts are spread evenly over their days; orders due in the part that lies in the horizon consume them. An overdue
//     order is due in the first bucket. Orders due after the horizon are no demand.
//   - Pellets missing, pins not kept and an overfull yard or rack are doubtful if the plan owns up to them (a Shortfall or a cost),
//     else wrong.
//   - Late metres are known by profile, not by priority: their cost is checked against the least and the most that the split can give.
package audit
