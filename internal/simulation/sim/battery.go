package sim

// battery carries the controller, never the heaters or pumps, over a cut.
type battery struct {
	pct     float64
	perHour float64 // percent of charge that the controller uses in an hour
}

const chargePerHour = 20 // percent, on mains

// step charges or discharges for dt seconds and tells whether the controller
// has power.
func (b *battery) step(mains bool, dt float64) bool {
	if mains {
		b.pct = min(100, b.pct+chargePerHour*dt/3600)
		return true
	}
	b.pct = max(0, b.pct-b.perHour*dt/3600)
	return b.pct > 0
}
