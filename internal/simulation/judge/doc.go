// Package judge judges the rules: it simulates runs whose truth is known,
// feeds what the units published to the rules, as a replay does, and sets
// the run records that come out beside what really happened to the film.
//
// Judge works through a range of seeds and gives a Score; Score.Print prints
// the table with a target beside each figure, and Score.Failed says whether
// one was missed. One does a single seed and prints all that is known of it.
// The same seeds give the same table.
//
// What really happened is worked out here from the simulator's trace of the
// film, by the words of the sheets' definition of a push error and a verdict,
// and not by the code of the rules: that is what is being judged.
//
// Nothing here is safe for concurrent use but Judge itself, which uses as
// many workers as there are processors.
package judge
