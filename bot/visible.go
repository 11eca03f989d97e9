package bot

// Visible is a text without what is not meant for reading: control characters,
// direction marks and their like, which could come from what someone wrote. A
// chat's own rendering shows words that have gone through it, as Plain does.
// Line breaks stay, other blanks become plain ones but for the unbreakable, and
// what is no text becomes U+FFFD.
func Visible(text string) string { return visible(text) }
