package lab

import "regexp"

// Mail addresses, telephone numbers and where webhooks go are for the person
// they belong to and for leads. A mail server's words and those of a failed
// connection like to repeat them.

var addressLike = regexp.MustCompile(`(?i)` +
	`[a-z][a-z0-9+.-]*://\S+` + // an address of the web, whole: its path may be a key
	`|[^\s"'<>(),;]+@[^\s"'<>(),;]+` + // mail
	`|\[[0-9a-f:.%]*:[0-9a-f:.%]*\](:\d+)?` + // IPv6 with a port
	`|\b\d{1,3}(\.\d{1,3}){3}(:\d+)?\b` + // IPv4
	`|\b(lookup|dial \w+|host) [a-z0-9_-]+(\.[a-z0-9_-]+)+\.?(:\d+)?` + // a host, as Go's errors name it
	`|\+?\b\d(?:[ ()./-]{0,2}\d){6,}`) // a telephone number

// HideAddresses takes addresses out of words that everybody reads.
func HideAddresses(text string) string { return addressLike.ReplaceAllString(text, "(address)") }
