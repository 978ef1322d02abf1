// Package nextloads works out what to load next: rolls that wait, put together
// by process and push, on the units that are ready, with a time to start each.
//
// Use: describe the lab in whole minutes from now as a [Lab], call [Lab.Plan].
// Of two plans the better one leaves fewer rolls over for which there is no
// water, chemistry or room; then has fewer rolls late, then less lateness, then
// fewer moments at which two runs want hands at once, then ends earlier, then has
// film ready earlier ([Score]). The search is exact within a number of steps that
// is counted, never timed, so that the same lab always gives the same plan. Beyond
// it the plan is the best one found, and says so; it is never worse than
// [Lab.FirstCome], which it is set beside.
//
// It is pure, and a proposal: nothing is started by it, and what is not known of
// a unit is not guessed here. Who calls leaves such a unit out and says why.
package nextloads
