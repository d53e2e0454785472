// Package compare puts two configurations side by side, each flown in one or several hops:
// the difference of every key number with its 95 % interval, whether it is real, and what
// flying would settle it when that cannot be told.
//
// # What is compared with what
//
// Answers of the aircraft to its stick are compared whatever the air. Numbers that depend on
// the air (gusts, attitude held, stick work, margins of pilot and aircraft) are compared
// within one class of air only. What cannot be compared is withheld, with the reason.
//
// # How
//
// Of several hops, each hop's number is y = mu(side) + h + e: e is the hop's own error,
// known from its interval, h what differs from hop to hop, with one variance tau2 for both
// sides, estimated by Paule and Mandel (Journal of Research NBS 87(5), 1982, 377-385). The
// difference is one of weighted means. Its standard error is that of the scatter seen about
// them (Hartung and Knapp, Statistics in Medicine 20, 2001, 3875-3889, from memory), never
// less than the hops' own errors say, with Student's t of two degrees of freedom less than
// the hops that count.
//
// Hops are weighted by 1/(sd2 + max(tau2, median sd2)). With the usual weights 1/(sd2 + tau2)
// one precise hop among vague ones carries its side alone while the vague ones hide what
// differs from hop to hop: intervals of 95 % then missed the truth one time in eight in
// simulated sets of three hops. Where weights are uneven, fewer hops count.
//
// Blocks of windows are drawn again and again (Kuensch 1989) for the interval of what one hop
// wandered by; hops are not. Drawing two or three hops of a side with replacement gives
// one of four or of ten different means at most, and an interval that is too narrow by the
// root of (n-1)/n and by all of Student's t: of 95 % it holds the truth 50 times in a hundred with two
// hops and 77 with three (TestDrawingHopsAgainIsTooNarrow). The same scatter with t is what is done here.
//
// Of one hop a side nothing is known of h: the difference is then one between these two
// hops, from their own intervals. A number with an interval of 95 % says nothing about its
// far tails; those of t with four degrees of freedom are used, far wider than the normal's.
// Numbers that also depend on how the stick was moved, on which model fitted or on the gusts
// met are not compared between two hops at all. Of the lags, that of a standard doublet is: it is
// the same however the stick was moved, where the plain correlation lag is not.
//
// Amounts that are positive by nature (answers to gusts, rms) are compared by their ratio.
//
// Many rows make some difference by chance. Chances are corrected for the number of rows
// compared (Holm, Scandinavian Journal of Statistics 6, 1979, 65-70, with the weights of its
// section 4), so that two equal configurations get a row called real in one comparison of
// twenty at most. Headline rows weigh ten times as much as others: phase lag at 1 Hz,
// bandwidth, and the answer to gusts of 1.2 to 2.4 rad/s with the stick held, chosen once
// and for all because they say how late, how quick and how steady the aircraft is.
//
// Odds are those of Sellke, Bayarri and Berger, American Statistician 55(1), 2001, 62-71
// (from memory): even chances before, at most 1/(-e p ln p) to 1 after a chance p. They are
// a bound: the data speaks for a difference at most so strongly.
package compare
