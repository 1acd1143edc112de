// Package motion tells what the boat was doing along its track: running,
// crawling under the motor, drifting or holding a place.
//
// # Method
//
//  1. The track is cut where fixes are too far apart in time, and each stretch is
//     averaged over windows of nodeS seconds, which takes off the white part of
//     the receiver's wobble and makes the cost the same for any fix rate.
//  2. Windows faster than RunMPS are running; what is left is slow.
//  3. Each slow stretch is cut into legs of steady velocity: the cuts that make
//     the sum of squared distances from straight, evenly timed lines, plus a
//     penalty for each leg, least of all (optimal partitioning of Jackson et al.,
//     IEEE Signal Process. Lett. 12, 2005, pruned as in Killick, Fearnhead &
//     Eckley, J. Am. Stat. Assoc. 107, 2012).
//  4. A leg's speed says what it is; neighbouring drift legs that keep their
//     course are one.
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
// # What it does badly
//
// Thresholds on speed are the same for every day and boat. A change of less than
// about 0.1 m/s goes unseen for a minute.
package motion
