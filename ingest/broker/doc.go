// Package broker runs an MQTT 3.1.1 broker inside the process, on a store on
// disk, for a lab that has none of its own. What it acknowledged survives
// kill -9: every message is synced before its PUBACK.
//
// Start gives a Broker that refuses everybody but the monitor until
// AllowUnits is called: without the monitor's session a message would be
// acknowledged and kept nowhere. On a loopback address units need no key;
// beyond it each needs its name "lab/unit" as user and a key as password, and
// may publish under its own topics only. Programs of the lab (record,
// simulate) use the program's credential, which Find reads from the data
// folder. All methods of Broker are safe to call at once.
package broker
