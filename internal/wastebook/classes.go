package wastebook

// LocalRules stands wherever a class or a limit is shown.
const LocalRules = "Local rules decide; ask your sewer authority. These figures are what others published, not what holds for your lab."

// Cautions stand where the hand is.
var Cautions = []string{
	"Gloves, goggles and apron. Air the room. Electricity and water apart.",
	"Never mix waste streams: fixer or bleach-fix with acid gives sulfur dioxide, with strong alkali ammonia; laundry bleach with any of them gives toxic gas. Photographic bleach is not laundry bleach.",
	"Used fixer holds silver: it goes to recovery or to the hauler. Nothing of it goes down a drain or into a septic system unless your sewer authority says so in writing.",
}

// WasteClass is a published class or limit.
type WasteClass struct {
	Name     string `json:"name"`
	Says     string `json:"says" doc:"What it says."`
	Source   string `json:"source" doc:"Where it is published, and when."`
	Standing string `json:"standing" doc:"published, quoted elsewhere or unconfirmed."`
}

// Classes are the published classes and limits (reference section 7.1).
var Classes = []WasteClass{
	{"Hazardous by silver (D011)", "5.0 mg/L or more in the extract of the TCLP test", "40 CFR 261.24, Table 1, as quoted in the Hach DR/850 manual, page 59; San Joaquin County, 1999", "quoted elsewhere"},
	{"Small generator, county chart", "not over 100 kg a month, about 27 gal", "San Joaquin County chart, 1999, citing 40 CFR 261.5; that section has moved since (262.14, unconfirmed)", "published"},
	{"Code of Management Practice, small", "under 2 gal a day of silver-rich solution, under 1,000 gal a day in all: 90 % of the silver recovered", "Code of Management Practice for Silver Dischargers, 1995; figures from memory", "unconfirmed"},
	{"Code of Management Practice, medium", "2 to 20 gal a day of silver-rich solution: 95 %", "Code of Management Practice for Silver Dischargers, 1995; figures from memory", "unconfirmed"},
	{"Code of Management Practice, large", "over 20 gal a day of silver-rich solution, and significant industrial users: 99 %", "Code of Management Practice for Silver Dischargers, 1995; figures from memory", "unconfirmed"},
	{"Dallas, small", "10,000 gal a day in all or less, or 20 gal a day of silver-rich solution or less: 95 %", "City of Dallas, best management practices for silver, pages without a date, read in November 2026", "published"},
	{"Dallas, large", "over 10,000 and under 25,000 gal a day in all, or over 20 gal a day of silver-rich solution: 99 %", "City of Dallas, best management practices for silver, pages without a date, read in November 2026", "published"},
	{"Dallas, in place of that", "0.36 mg/L or 3.04 mg/L of silver, by treatment plant", "City of Dallas, best management practices for silver, pages without a date, read in November 2026", "published"},
	{"Dallas, what is kept", "silver test by paper weekly or monthly, by a laboratory once a year (small) or twice (large); the log kept 3 years", "City of Dallas, best management practices for silver, pages without a date, read in November 2026", "published"},
	{"Not silver-rich", "developer and wash water", "City of Dallas, best management practices for silver, pages without a date, read in November 2026", "published"},
}
