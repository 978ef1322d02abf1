package nextloads

import "cmp"

// Score is how good a plan is: the first figure counts first.
type Score struct {
	Left       int // rolls that found no place
	Late       int // rolls ready after they are due
	LateMin    int // by how much in all
	Collisions int // pairs of moments at which two runs want hands at once
	End        int // when the last film is ready
	ReadySum   int // when each roll is ready, in all
}

// Compare is negative where s is better than o.
func (s Score) Compare(o Score) int { return cmp.Or(s.asked(o), cmp.Compare(s.ReadySum, o.ReadySum)) }

// asked compares what a plan is asked for; that film is ready early only decides
// between plans that are equally good.
func (s Score) asked(o Score) int {
	return cmp.Or(cmp.Compare(s.Left, o.Left), cmp.Compare(s.Late, o.Late), cmp.Compare(s.LateMin, o.LateMin),
		cmp.Compare(s.Collisions, o.Collisions), cmp.Compare(s.End, o.End))
}
