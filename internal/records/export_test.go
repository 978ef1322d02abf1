package records

import "wetside/internal/report"

// BeforeJudging lets a test fail the report of a run: f is called with its
// evidence before the report is made, and may panic.
func (w *Worker) BeforeJudging(f func(report.Evidence)) { w.make.beforeJudging = f }

// PartsOf lets a test have parts of fewer messages.
func (w *Worker) PartsOf(messages int) { w.perPart = messages }

// PartMessages is how many messages a part of a record has at most.
const PartMessages = partMessages

// Pack compresses a record as it is stored.
func Pack(b []byte) []byte { return pack(b) }
