// Package people signs people in to the pages: who somebody is, by a password,
// a one-time pass or the session of their browser, and what their role lets
// them do. It knows no page and no cookie, and keeps nothing but hashes of
// secrets: passwords by argon2id, sessions and passes by SHA-256, since those
// are random.
package people
