// Package notify sends one message to one person, once: by a signed webhook
// (Standard Webhooks 1.0.0), by mail (SMTP with TLS), or to a phone's browser
// (Web Push: RFC 8030, 8291, 8292). Whether, when and how often to try is not
// decided here.
//
// A contact method gives nil when the other end took the message, else an
// *Error that says how it went: failed, gone (there is nobody there any more),
// or unavailable (this contact method is not there now, which is nobody's
// failure), and how long the other end asks to be left alone.
//
// All contact methods are safe for concurrent use.
package notify
