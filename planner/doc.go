// Package planner makes plans: from an Input, a plant's tables, to a Plan, what to run, buy and expect late, with a proven bound on
// what any plan must cost. Make is the whole of it; Options.From starts from an earlier plan.
//
// # What was tried to plan fast, and what it gave
//
// Figures are of plants of planner/benchplant, seed 1, in work units (100 to 150 million a second of processor) or seconds of a loaded machine.
//
// The first bound. The relaxation of the whole model of plant L (36,145 rows) takes 34,800 simplex steps, 3,600 million units or 36 s of
// processor; CLP takes 27 to 37 s. Without the state of the set-ups (relaxed) it takes 15,100 steps and 443 million and is 0.5 % lower. Its
// rows that keep what was shipped shipped are worth 0.01 % and a third of the work: left out. Reducing that model first doubled its work.
//
// A stronger bound. All on plant S, where the relaxation gives 511.5 thousand and the best plan known costs 540.8:
//   - cuts of branch and cut's own on the whole model: 513.0 after 40 % of the work of a plan;
//   - the inequalities of Barany, Van Roy and Wolsey with the set-up carried over, a die counted once when a stretch of buckets begins and
//     each changeover after it, lateness included: 513.8 when no more are found;
//   - a facility-location model of each profile with lateness, its gates tightened in the same way: 517.4, from 6,861 columns and 14 s;
//     line by line rather than for all lines of a profile together it came to 517.6 after 83 s;
//   - the same by weeks and for all lines of a profile together, on top of the relaxation without set-up states, its gates added for any stretch of
//     weeks as they are violated: 515.4 after 1.7 s on S, but on M 1.918 million against 1.904 after 10 s, and each round longer than the last.
//
// None of these is in use: at the size of L they take longer than a plan may take. What is:
//
//   - blocks of several weeks, with the state of the dies between them (lots.go): few long blocks bound better than many short ones, and a relaxation that
//     has them is small. S 514.6 thousand in 0.1 s, 517.3 in 4 s; M 1.946 million in 7 s, 1.954 in 30; L 2.548 million in 35 s, where the
//     relaxation without lots has 2.470 and CBC and HiGHS have 2.482 and 2.501 after 600 s. It is solved beside the search;
//   - cuts of that relaxation for what single lines make (lotcuts.go): M 1.954 to 1.956 million in the twenty seconds that are left of a minute.
//
// What is left between bound and plan is that lines can't run halves of two profiles without a changeover, a fractional crew, and whole loads: no
// inequality on a single profile or a single line forbids that.
//
// First plans. Rules are walked through in 90 settings, a few milliseconds each, and estimate their own cost; two are settled by a linear program. Turning the fastest lines on first, whichever are on now, took L from 3.099 to 2.942 million, S from 595 to 553 thousand.
//
// Following the relaxation. Its metres, by profile and bucket, know of feed, crew and lateness, of which rules know little. Rules that make what it
// makes, when it makes it, in lots of a part of each profile's economic lot, took L to 2.838 million, where improving
// needed two minutes before, and M to 2.088. Keeping each profile to the lines on which the relaxation runs it made plans a third dearer; ordering
// lines by its hours brought nothing.
//
// (The figures above are with a price of lateness that fell by 1.5 with each priority, those below with 1.25: plans cost some 2 % more, bounds 0.2 %.)
//
// Tuning the rules (tune.go). A walk by the rules takes 0.3 to 0.5 ms on M and L, a linear program that settles it a thousand times that. Its own
// estimate of the cost, with stocks, the relaxation's duals of pellets and a part of what feed used too soon would cost, goes with the settled cost
// (correlation 0.89 over the settings). Turning a lot length, a lead or a liking of 40 profiles at random for 800 walks and settling the end, some
// twenty times over, took L from 2.881 to 2.80 million in 25 s, where cutting areas out had come to 2.836 after 130 s; afterwards areas bring it to 2.776.
// M went from 2.105 to 2.056, S from 542 to 536 thousand. Trusting the estimate for 60,000 walks on end was worse than settling often (M 2.083, L 2.820): it
// knows little of feed. Feed used too soon at its whole lateness made M no better than untuned. Knobs for each four weeks brought nothing that
// another seed would not, nor did one scale of all lots for each sixth of the horizon, rounds of 50 or 200 walks, another number of rounds without gain, nor a
// guide of the relaxation that knows of lots: M ends between 2.056 and 2.073 million, by luck. Learning by ridge regression how much each item of the
// estimate counts fits the settled costs in hindsight (correlation 0.95 for 0.79) and leads the walks to where it does not (M 2.081). On M beginning anew with the next setting once a course
// is stale brought 1 %.
//
// Settling. With the lines' whole numbers held, folding them into the model leaves 9,300 rows of 36,145 on L, and one program
// serves any loads, its basis going on. A plan carries its bases (warm.go): plant L is planned again from its plan in 2.3 s of
// processor with the search cut short, bound and need against have included, where it took 10.9.
//
// Loads by steps (loadsteps.go). Ordering loads anew by a program with loads in fractions and another with them made whole took two thirds of a
// what-if. Steps of single orders, the most promising by the duals first, each a few dozen dual steps and cut off where it can't help, bring as much
// (plans after a delivery lost 0.2 % better) in a quarter of the work; they end every settling of a search too.
//
// Pins. Rules that paid no heed to pins left them to the areas, which are too small to turn a line off for weeks: of 27 pins to stand for 3 or 21 days on
// three plants of size S, 17 were broken at up to 768 thousand. Rules that keep them (greedy_pins.go) broke none.
//
// Lines to be set up. The rules left them out and areas seldom found them: with a line of S to be set up in a week for 5 thousand, plans
// cost 725, 652 and 640 thousand where they cost 544, 596 and 528 with the line ready (seeds 1 to 3). Rules that may set up one, two or three lines
// come to 553, 598 and 528.
//
// Plans of plans. Improving an earlier plan alone made what-ifs dearer than they are: a line of S standing for three weeks came to 577 to 602
// thousand, from nothing to 557. Where an earlier plan comes out 2 % dearer rules are tuned as well, and it comes to 557.
//
// What lines would bring. The program that a step begins with was solved from nothing and ran out of work on L, so that no step was told; from
// the plan's own basis it takes a fifth of a second. A line started sooner goes on as planned after that: it lost all its later runs before.
//
// Knobs that gave nothing on S (ten seeds each, 537.6 to 544.6 thousand without them): fits never changed to, spans in which a line is on or off, spans in
// which a fit is kept from running, leaving the first die at once. One plan of 530.7 came of a pin that forbids a fit for five weeks, by luck: with
// nine other seeds the same pin came to 535 to 544. Rounds of 60 or 25 walks brought 0.3 and 0.1 %.
//
// Better plans. Freeing whole numbers in the model of the whole, reduced anew each time, cost plant L more than a second before the first
// node. Cutting a small model out, amounts far off in time held too (neighbourhood.go), takes a tenth of the work: S came to 542 to 548 thousand
// in the work in which the other way came to 556. Branch and cut that looks only for what beats the plan in hand spares its dives and
// most of its cuts (mip.Options.Beat). Holding the runs and racks of lines and profiles not concerned made the models smaller
// still and the plans worse (S 552, L 2.901 million against 2.890 for less work): not in use.
package planner
