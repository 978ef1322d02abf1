package lab

// SheetChange is one change that a lab made to a process sheet.
type SheetChange struct {
	Process string `json:"process"` // the sheet's id
	Text    string `json:"text"`    // in the form of a sheet's file; "": taken back
	By      string `json:"by"`
	At      Time   `json:"at"`
}
