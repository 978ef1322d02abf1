package sim

import (
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"time"

	"wetside/internal/lab"
	"wetside/internal/process"
)

// unit is one processor: its physics, its controller and its link.
type unit struct {
	id      lab.UnitID
	plan    UnitPlan
	sheets  *process.Book
	cadence Cadence
	now     time.Time
	dt      float64

	// A source of chance for each purpose, so that a fault in one shifts the
	// others as little as possible.
	noise, people, world, traits *rand.Rand

	tankFor  map[string]*tank
	tanks    []*tank
	bath     vessel
	heater   heatingLoop
	feed     heatBody // the bottles in their jacket
	feedHeat heatingLoop
	washT    heatBody // the water in the wash tank
	washHeat heatingLoop
	onFilm   float64 // what film and reels carry from one bath to the next, l
	washAt   float64 // what the water in the tank was when last looked at, l
	dryer    float64
	filler   pump
	drainer  pump
	batt     battery
	clock    clock
	link     *link
	balance  liquidBalance

	mains, awake bool      // has mains; the controller runs
	switchedOn   bool      // by a person
	lostAt       time.Time // when the mains went
	quietBack    bool      // the controller will not report the outage
	boot         string
	seq          int64
	rpm          float64
	reversals    int
	due          map[lab.Channel]time.Time
	tempCount    int
	lastBathC    *float64 // the last reading of the bath, as it was sent
	inTick       int      // messages in this step of time
	muted        bool     // nothing is published

	run     *run
	runs    int       // how many were begun
	idleAt  time.Time // when the last one ended
	nextRun *RunPlan
	chores  []chore
	choreAt time.Time
	comesAt time.Time // when a person comes to a waiting unit

	faults  []*activeFault
	eff     effects
	truths  []*FaultTruth
	actions []Action
	trace   bool
	done    []*RunTruth
}

func newUnit(c *Config, i int, out *queue) *unit {
	p := c.Schedule.Units[i]
	u := &unit{id: lab.UnitID{Lab: c.Lab, Unit: p.Name}, plan: p, sheets: c.Book, cadence: c.Cadence.over(p.Cadence),
		now: c.Start, dt: c.Step.Seconds(), mains: true, tankFor: map[string]*tank{}, due: map[lab.Channel]time.Time{}}
	h := fnv.New64a()
	_, _ = h.Write([]byte(p.Name)) // a hash never fails
	u.noise = rand.New(rand.NewPCG(c.Seed, h.Sum64()))
	u.people = rand.New(rand.NewPCG(c.Seed+1, h.Sum64()))
	u.world = rand.New(rand.NewPCG(c.Seed+2, h.Sum64()))
	u.traits = rand.New(rand.NewPCG(c.Seed+4, h.Sum64()))
	u.trace = c.Trace
	u.drawTraits()
	u.link = &link{out: out, net: rand.New(rand.NewPCG(c.Seed+3, h.Sum64())), unit: i,
		topic: lab.Topic(u.id, lab.ChannelStatus), grace: c.KeepAlive * 3 / 2}
	for _, f := range c.Schedule.Faults {
		if f.Unit == p.Name {
			u.faults = append(u.faults, &activeFault{Fault: f})
		}
	}
	return u
}

// drawTraits draws the unit's own figures: no two units are quite alike.
func (u *unit) drawTraits() {
	p := &u.plan
	if p.Model == "" {
		p.Model = "tabletop rotary 500"
	}
	if p.Firmware == "" {
		p.Firmware = fmt.Sprintf("2.%d.%d", u.world.IntN(5), u.world.IntN(10))
	}
	if p.RoomC == 0 {
		p.RoomC = 21.5
	}
	if p.RoomSwingC == 0 {
		p.RoomSwingC = 0.8
	}
	if p.TapC == 0 {
		p.TapC = 19
	}
	if p.ProbeNoiseC == 0 {
		p.ProbeNoiseC = 0.02
	}
	if p.Called == "" {
		p.Called = p.Name
	}
	u.eff.called = p.Called
	u.clock.offset = p.ClockOffset
	if p.ClockOffset == 0 {
		u.clock.offset = time.Duration(between(u.world, -300, 300)) * time.Millisecond
	}
	u.batt = battery{pct: 100, perHour: between(u.world, 60, 90)}
	if p.BatteryPct > 0 {
		u.batt.pct = p.BatteryPct
	}
	u.filler = pump{between(u.world, 0.045, 0.056)}
	u.drainer = pump{between(u.world, 0.040, 0.050)}
	u.heater = bathLoop()
	u.feedHeat = feedLoop(between(u.world, 900, 1400))
	u.washHeat = washLoop(between(u.world, 1400, 2000))
	room := u.room()
	u.bath = vessel{liquid: room, wall: heatBody{c: 350, t: room, ua: u.lossW()}, k: 60}
	u.feed = heatBody{c: 21000, t: room, ua: 4}
	u.dryer = room
	u.addContainers()
}

// lossW is what the processing tank loses to the room, W/K.
func (u *unit) lossW() float64 {
	own := between(u.traits, 0.8, 1.9)
	if u.plan.LossW > 0 {
		return u.plan.LossW
	}
	return own
}

// addContainers sets up the containers that the processes need.
func (u *unit) addContainers() {
	u.addContainer("waste", lab.RoleWaste, lab.DefaultCapacityL, 0)
	u.addContainer("wash", lab.RoleWash, lab.DefaultCapacityL, 18)
	recovery := false
	for _, id := range u.plan.Processes {
		sheet, _ := u.sheets.Sheet(id)
		for _, g := range programOf(sheet, RunPlan{Process: id, FillML: defaultFillML, SetS: bwNormalS}, nil) {
			if !g.wash {
				u.addContainer(g.from, lab.RoleBottle, 5, 4.8)
			}
			recovery = recovery || g.to == recoveryName
		}
	}
	if recovery {
		u.addContainer(recoveryName, lab.RoleRecovery, 10, 0)
	}
	wash := u.tankFor["wash"]
	u.washT = heatBody{c: wash.litres * waterJ, t: u.room(), ua: 6}
	u.washAt = wash.litres
}

func (u *unit) addContainer(name string, role lab.Role, capacity, litres float64) {
	if l, ok := u.plan.Levels[name]; ok {
		litres = min(l, capacity)
	}
	t := &tank{name: name, role: role, capacity: capacity, litres: litres, noise: 0.03,
		hasFloat: role == lab.RoleWaste || role == lab.RoleRecovery}
	if role == lab.RoleBottle {
		t.noise = 0.015
	}
	if u.plan.LevelNoise > 0 {
		t.noise = u.plan.LevelNoise * capacity
	}
	t.offset = u.plan.LevelOffset * capacity
	u.tankFor[name] = t
	u.tanks = append(u.tanks, t)
}

// tank finds a container; an unknown name is the waste.
func (u *unit) tank(name string) *tank {
	if t, ok := u.tankFor[name]; ok {
		return t
	}
	return u.tankFor["waste"]
}

// room is the temperature of the room: warmest in the afternoon.
func (u *unit) room() float64 {
	h := float64(u.now.Hour()) + float64(u.now.Minute())/60
	return u.plan.RoomC + u.plan.RoomSwingC*math.Sin(2*math.Pi*(h-9)/24)
}

// tick moves the unit on by one step of virtual time.
func (u *unit) tick(now time.Time) {
	u.now, u.inTick = now, 0
	u.followShift()
	if !u.switchedOn {
		u.cool()
		u.link.tick(now)
		return
	}
	u.stepFaults()
	u.stepPower()
	u.stepLink()
	u.stepPhysics()
	u.stepPeople()
	if u.awake {
		u.control()
		u.publishDue()
	}
}

// followShift switches the unit on and off, never off in a run.
func (u *unit) followShift() {
	want := len(u.plan.Shifts) == 0
	for len(u.plan.Shifts) > 0 && !u.now.Before(u.plan.Shifts[0].Off) && !u.switchedOn {
		u.plan.Shifts = u.plan.Shifts[1:]
		if len(u.plan.Shifts) == 0 {
			u.plan.Shifts = []Shift{{u.now.AddDate(100, 0, 0), u.now.AddDate(100, 0, 1)}}
		}
	}
	if len(u.plan.Shifts) > 0 {
		s := u.plan.Shifts[0]
		want = !u.now.Before(s.On) && u.now.Before(s.Off)
	}
	switch {
	case want && !u.switchedOn:
		u.switchedOn = true
		u.startFresh()
	case !want && u.switchedOn && u.run == nil && len(u.chores) == 0:
		u.switchedOn, u.awake, u.rpm = false, false, 0
		u.link.cut(u.now, true)
	}
}

// cool lets everything cool to the room.
func (u *unit) cool() {
	room := u.room()
	u.bath.step(0, room, u.dt)
	u.feed.step(0, room, u.dt)
	u.washT.step(0, room, u.dt)
	u.dryer = room
	u.batt.step(true, u.dt)
}

// clock is a unit's own clock: a little off, and back at 1970 when it was
// lost.
type clock struct {
	offset   time.Duration
	bootedAt time.Time
}

// read is what the clock shows at the true time now.
func (c *clock) read(now time.Time, lost bool) time.Time {
	if lost {
		return time.Unix(0, 0).UTC().Add(now.Sub(c.bootedAt))
	}
	return now.Add(c.offset)
}

// up is the seconds since the controller started.
func (c *clock) up(now time.Time) float64 { return now.Sub(c.bootedAt).Seconds() }
