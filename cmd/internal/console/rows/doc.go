// Package rows is what the console's screens say, as pure functions: from a plant's records, a plan, the released plan and the
// draft's edits to lines of text, tables and text charts. It draws nothing and does nothing. The console shows its pages, and
// feedline show prints them or writes them as JSON.
//
// Before a screen was drawn, three things were written down for it: the question it answers, the decision that follows, and the
// fewest marks that answer it.
//
//	screen   question                                decision                               fewest marks
//	today    where do we stand?                      go on, or do something today           one sentence; a row a grade; need against have
//	                                                                                        week by week; the next dates
//	lines    what runs where and when, what hinders  leave it, pin, forbid, start, idle     a row a line, a column a day or week, a profile
//	         it?                                                                            with one sign in each cell; the cell in full below
//	feed     what have we, what comes when, what     chase a delivery, free or hold a lot,  a row a delivery with its span on a time axis;
//	         should be bought by when at what cost?  order a load                           rows of lots, lanes, pellets
//	orders   which orders are late, and why?         talk to the customer, change the plan  a row an order, the late ones first, one reason
//	supply   what do we make and earn, what bounds   buy more, start a line, or neither     the margin as a sum; what bounds each week; a row
//	         it, what would an idle line bring?                                             an idle line with its break-even
//	records  what was made, used, received?          enter what is known                    the rows that yesterday's plan expects, to fill in
//	changes  what would change against the promise?  release or drop                        the edits; a row a difference; two sums
package rows
