package lesson

import "weftroom/bot"

// englishPosts are what the clock posts.
var englishPosts = bot.Texts{}
