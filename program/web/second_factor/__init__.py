"""A second way to say who one is, beside the emailed code: an app that shows codes (TOTP,
RFC 6238), a passkey (W3C Web Authentication), and recovery codes for when both are lost.
django-allauth does it; here is what Fledge does otherwise. Who is to have one:
`User.second_factor_due_at`."""
