// Package access says who is asking and what they may do: it signs people,
// programs (tokens) and screens (wall links) in, keeps their sessions, slows
// down who guesses, and judges what a request brings with it by the network
// it came over (proxies, origins, HTTPS or not).
//
// Use: New over a [Store] and a session store, then for each request
// [Authenticator.Authenticate] and [Identity.May]. A credential is looked up
// anew each time, so that what was withdrawn counts from the next request on;
// who holds something open (a live socket) asks again with
// [Authenticator.Identify]. Signing in gives cookies, which the caller sends.
// CreateUser, CreateToken and their like need no Authenticator: commands use
// them on the store.
//
// Errors of KindForbidden mean that a credential is missing or no longer good,
// [*TooManyError] that somebody must wait, [*CredentialError] that what was
// typed is wrong; any other that it could not be looked at, which lets nobody
// in and throws nobody out.
//
// All functions, and all methods of Authenticator, are safe for concurrent use.
package access
