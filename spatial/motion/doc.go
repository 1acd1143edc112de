// Package motion tells what the boat was doing along its track: running, crawling
// under the motor, drifting, holding a place or stopped.
//
// # Method
//
//  1. The track is cut where fixes are too far apart in time, and each stretch is
//     averaged over windows of nodeS seconds, which takes off the white part of
//     the receiver's wobble and makes the cost the same for any fix rate.
//  2. The pace of each window, from still to running, is read with memory, by a hidden
//     Markov model whose speeds each day teaches (pace.go). What runs is running.
//  3. Each slower stretch is cut into legs of steady velocity: the cuts that make
//     the sum of squared distances from straight, evenly timed lines, plus a
//     penalty for each leg, least of all (optimal partitioning of Jackson et al.,
//     IEEE Signal Process. Lett. 12, 2005, pruned as in Killick, Fearnhead &
//     Eckley, J. Am. Stat. Assoc. 107, 2012).
//  4. A leg most of which went at a crawl is crawling; one of the others that makes way on a
//     steady course for long enough and far enough is drifting, and neighbouring drift
//     legs that keep their course are one. The rest holds its place, or is stopped where it moved no
//     more than the receiver wobbles.
//
// By hand: 300 s at 0.3 m/s east, then 100 s at 1.2 m/s west: one cut costs the
// penalty of 400 m² and saves far more than the 10,000 m² by which a single line
// misses, so there are two legs, drifting and crawling.
//
// # Cost
//
// Linear in fixes; within one slow stretch at worst the square of its windows,
// in practice near linear, since pruning drops starts that can't win.
//
// # Accuracy
//
// On made days with a wobbling, gapped receiver at one fix a second, and at five, states agree second by
// second for more than 95 %, and a drift begins and ends within ten seconds in the median: TestStatesAgainstTheTruth in
// cmd/leadline.
//
// # What it does badly
//
// A change of less than about 0.1 m/s goes unseen for a minute. A hop of a few seconds between two
// holds is lost in them. A boat that wanders one way for minutes while it holds looks adrift. A boat at anchor and one
// with nobody aboard look the same.
package motion
