package rules

// flow is one fill or drain still to come.
type flow struct {
	Container string
	L         float64
	InS       float64 // seconds from now until it begins
	Step      string
}

// flows lists the fills (fill true) or drains still to come in the run, in
// their order, as far as their volumes are known.
func (u *Unit) flows(fill bool) []flow {
	if !u.s.running() || u.s.Run.BathsEnd {
		return nil
	}
	var list []flow
	inS := 0.0
	for _, p := range u.plan() {
		if p.Rec != nil && !p.Rec.EndT.IsZero() {
			continue
		}
		if ml, known := u.fillML(p.ID, p.Rec); known {
			list = append(list, u.stepFlows(p, fill, ml/1000, inS)...)
		}
		inS += u.leftS(p) + u.drainTimeS()
	}
	return list
}

// stepFlows lists what one step still draws or drains.
func (u *Unit) stepFlows(p planned, fill bool, l, inS float64) []flow {
	total, done := p.Fills, 0
	name := u.drainTo(p.ID, p.Rec)
	if fill {
		name = u.drawFrom(p.ID, p.Rec)
	}
	if name == "" {
		return nil
	}
	pumping := u.s.Pumping
	var out []flow
	if p.Rec != nil {
		done = p.Rec.Drains
		if fill {
			done = p.Rec.Fills
			if pumping != nil && pumping.From == name && pumping.N == p.N {
				out = append(out, flow{name, max(0, l-u.moved(name, pumping)), 0, p.ID})
			}
		} else if pumping != nil && pumping.To == name && pumping.N == p.N {
			out = append(out, flow{name, max(0, l-u.moved(name, pumping)), 0, p.ID})
			done++
		}
	}
	left := u.leftS(p)
	for i := done; i < total; i++ {
		at := inS + left
		if total > 1 { // spread over the step, the last drain at its end
			k := float64(i + 1)
			if fill {
				k = float64(i)
			}
			at = inS + left*min(1, (k-float64(done)+1)/float64(total-done))
		} else if fill {
			at = inS
		}
		out = append(out, flow{name, l, at, p.ID})
	}
	return out
}

// moved is how many liters of the fill or drain under way the level shows already.
func (u *Unit) moved(name string, p *pumping) float64 {
	t := u.s.Tanks[name]
	if t == nil || !t.Known {
		return 0
	}
	if p.From == name && p.KnownFrom {
		return max(0, p.BaseFrom-t.Level)
	}
	if p.To == name && p.KnownTo {
		return max(0, t.Level-p.BaseTo)
	}
	return 0
}
