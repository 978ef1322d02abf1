package lab

// Reach is where phones, screens and units find this wetside, and which flag
// it wants where they cannot.
type Reach struct {
	Board     []string `json:"board"`      // addresses that other machines open; empty: none can
	BoardFlag string   `json:"board_flag"` // what to start wetside with so that they can; "" where they can
	OwnBroker bool     `json:"own_broker"` // units connect to wetside itself
	Units     []string `json:"units"`      // host:port, of this broker or the outside one; empty: units on this machine only
	UnitsHere string   `json:"units_here"` // host:port on this machine; "" with an outside broker
	UnitsTLS  bool     `json:"units_tls"`  // they speak TLS
	UnitsFlag string   `json:"units_flag"` // what to start wetside with so that units elsewhere can; "" where they can
}
