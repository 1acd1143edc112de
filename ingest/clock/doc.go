// Package clock estimates how the clock of a depth log stands to the track's, by
// matching the two records, and names the zone a place lies in.
//
// # Method
//
// At every offset within 14 hours either way, five seconds apart, the log is laid
// over the track and a misfit is taken: 0 is a perfect fit and 1 is what no
// relation at all gives. What is compared is the first of these that the log has
// and that gives a sure answer:
//
//  1. Position: the mean distance between where the log and where the track says
//     the boat was, each clipped at 50 m, over 50 m.
//  2. Speed: 1 - r, with r the correlation coefficient of the square roots of
//     logged and track speed over what overlaps (roots, so that a few fast runs
//     don't outweigh hours of drifting). All offsets are taken at once through
//     Fourier transforms, see correlate.
//  3. Depth, which asks nothing of the log but times and depths: the boat comes by
//     the same places again and again, and at the right offset a place has the
//     same depth each time. The misfit is the mean difference between the two
//     depths of a crossing over the mean difference between unrelated depths.
//
// The least misfits that are at least two minutes apart are then taken again,
// second by second, with all rows.
//
// An answer is sure when the best offset leads all others by more than chance
// explains. How low misfits get by chance is read off the record itself: near
// their least possible value the misfits of wrong offsets follow a power law,
// P(misfit < x) ~ x^k, whatever their distribution (the Weibull domain of extreme
// values with end point 0), and how far the twenty best runners-up lie apart tells
// k, and with it how likely such a lead is: see chance.
// For depth the log's crossings are also parted into four quarters of the day,
// each of which looks for its own best offset: of n separate peaks a quarter hits
// the common one by chance once in n times. Last, offsets that mean nothing fall
// anywhere, but one in fifteen of them within a minute of a whole half hour, zero
// among them, where clocks are that are right, set a little wrong or in another
// zone. Confidence is 1 less the product of these chances, and Sure takes 0.999 of
// it, and a misfit that is low in itself.
//
// # By hand
//
// Speeds of a log 0 0 1 3 2 5 4 and of a track 1 3 2 5 4 6 5, a row a second: row i
// of the log is row i-2 of the track, so the log's clock is 2 s ahead and r = 1 at
// offset -2. Depth: the track is at one place at seconds 100 and 900, and the log
// tells 6 m at 100, 4 m at 137, 5 m at 900 and 4 m at 937: the crossing differs by
// 1 m at offset 0 and not at all at -37. Chance: misfits 0.05, 0.60, 0.65, 0.70,
// 0.72, 0.75 have logarithms 2.485, 0.080, 0.074, 0.028, 0.041 apart;
// s = 2·0.080 + 3·0.074 + 4·0.028 + 5·0.041 = 0.70 and (1 + 2.485/0.70)^-4 = 0.0023.
//
// # Cost
//
// For n seconds of log and track and L offsets: speed n log n; position 300 L; depth
// 1200 L and a table of the places visited. A day of 28,800 fixes and as many rows
// takes about a tenth of a second, see BenchmarkAlign.
//
// # What it does badly
//
//   - A clock that is set or jumps within the log: one offset is found, or none.
//   - Offsets beyond 14 hours, such as a wrong date: not searched.
//   - A logger whose speed lags behind the boat by some seconds: that lag is taken
//     for the clock's. Below a second nothing is told.
//   - A boat at anchor, or one that holds one speed over a level bottom and never
//     comes back to a place: nothing to match, unsure.
//   - Tracks that aren't cleaned are taken as they come but for single wild fixes.
//   - Tracks carry no depths, so a track's own soundings aren't matched with a log's.
//
// # Sources
//
// A. Rényi, On the theory of order statistics, Acta Math. Hung. 4, 1953 (the gaps);
// B. M. Hill, A simple general approach to inference about the tail of a
// distribution, Ann. Stat. 3, 1975 (the tail read off the extremes); D. Padfield,
// Masked object registration in the Fourier domain, IEEE Trans. Image Process. 21,
// 2012. Matching by crossings is the cross-over analysis of survey practice turned
// round; common practice, no source.
package clock
