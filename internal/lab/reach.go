package lab

// Reach is where phones, screens and units find this wetside, and which flag
// it wants where they cannot.
type Reach struct {
	Board     []string `json:"board" doc:"Addresses at which other machines open the board; empty: none can."`
	BoardFlag string   `json:"board_flag" doc:"What to start wetside with so that they can; empty where they can."`
	OwnBroker bool     `json:"own_broker" doc:"Units connect to wetside's own broker."`
	Units     []string `json:"units" doc:"Where units connect, host:port; empty: units on this machine only."`
	UnitsHere string   `json:"units_here" doc:"Where a unit on this machine connects; empty with an outside broker."`
	UnitsTLS  bool     `json:"units_tls" doc:"Units speak TLS there."`
	UnitsFlag string   `json:"units_flag" doc:"What to start wetside with so that units elsewhere can connect; empty where they can."`
}
