package ingest

import "time"

// parseAt reads a time by the grammar of RFC 3339, section 5.6, which
// time.Parse does not keep to: it takes a comma for the decimal point and
// refuses lower-case t and z and the leap second, which the RFC allows. The
// result is in UTC and to the millisecond, the contract's resolution.
func parseAt(s string) (time.Time, bool) {
	if len(s) < len("2006-01-02T15:04:05Z") || s[4] != '-' || s[7] != '-' ||
		(s[10] != 'T' && s[10] != 't') || s[13] != ':' || s[16] != ':' {
		return time.Time{}, false
	}
	year, ok0 := digits(s[0:4])
	month, ok1 := digits(s[5:7])
	day, ok2 := digits(s[8:10])
	hour, ok3 := digits(s[11:13])
	minute, ok4 := digits(s[14:16])
	second, ok5 := digits(s[17:19])
	ms, rest, ok6 := fraction(s[19:])
	offset, ok7 := zone(rest)
	if !(ok0 && ok1 && ok2 && ok3 && ok4 && ok5 && ok6 && ok7) ||
		month < 1 || month > 12 || day < 1 || day > daysIn(year, month) ||
		hour > 23 || minute > 59 || second > 60 {
		return time.Time{}, false
	}
	t := time.Date(year, time.Month(month), day, hour, minute, second, 0, time.UTC).Add(-offset)
	if second == 60 && (t.Hour() != 0 || t.Minute() != 0) {
		return time.Time{}, false // a leap second ends a day of UTC
	}
	return t.Add(time.Duration(ms) * time.Millisecond), true
}

func digits(s string) (int, bool) {
	n := 0
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return 0, false
		}
		n = n*10 + int(s[i]-'0')
	}
	return n, true
}

// fraction reads an optional ".digits"; digits after the third are cut off.
func fraction(s string) (ms int, rest string, ok bool) {
	if s == "" || s[0] != '.' {
		return 0, s, true
	}
	i, scale := 1, 100
	for ; i < len(s) && s[i] >= '0' && s[i] <= '9'; i++ {
		ms += int(s[i]-'0') * scale
		scale /= 10
	}
	return ms, s[i:], i > 1
}

func zone(s string) (time.Duration, bool) {
	if s == "Z" || s == "z" {
		return 0, true
	}
	if len(s) != len("+00:00") || (s[0] != '+' && s[0] != '-') || s[3] != ':' {
		return 0, false
	}
	h, ok1 := digits(s[1:3])
	m, ok2 := digits(s[4:6])
	d := time.Duration(h)*time.Hour + time.Duration(m)*time.Minute
	if s[0] == '-' {
		d = -d
	}
	return d, ok1 && ok2 && h <= 23 && m <= 59
}

func daysIn(year, month int) int {
	return time.Date(year, time.Month(month)+1, 0, 0, 0, 0, 0, time.UTC).Day()
}
