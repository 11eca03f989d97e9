package lesson

import (
	"cmp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"weftroom/bot"
)

// Word is one entry of the glossary: a word of the weaving trade, or a word
// that our plans use in a sense of their own (those say "In our plans").
type Word struct {
	Name string   // as the trade writes it, British spelling
	Also []string // other names and spellings that mean the same
	Says string   // one or two sentences, under 300 characters
	See  []string // the Name of each entry that helps next
}

// glossary is sorted by Name, capitals ignored. A sentence that names a
// measure gives it in metric and in imperial units. Usual ranges (draw-in,
// loom waste, shrinkage, take-up) are common practice, not promises.
var glossary = []Word{
	{Name: "advance", Also: []string{"advance the warp"}, See: []string{"cloth beam", "warp beam", "pawl"},
		Says: "To let fresh warp off the back roller and wind the finished cloth onto the front one. Do it often, so that the shed stays wide and the beat stays even."},
	{Name: "apron rod", Also: []string{"apron bar"}, See: []string{"tie-on", "loom waste"},
		Says: "A rod joined to a beam by cords or a strip of cloth, to which the warp is tied or looped. It reaches out towards the heddle, so that less warp is wasted."},
	{Name: "back beam", See: []string{"warp beam", "breast beam"},
		Says: "The bar at the back of many looms that keeps the warp level on its way from the warp beam to the heddles. On a small rigid-heddle loom people often mean the warp beam itself."},
	{Name: "balanced weave", See: []string{"plain weave", "sett", "weft-faced", "warp-faced"},
		Says: "Cloth with as many picks as ends in each inch (2.5 cm), in yarns of much the same thickness, so that warp and weft show equally. It is the usual ground for lace."},
	{Name: "ball winder", See: []string{"swift", "skein"},
		Says: "A hand-cranked tool that winds yarn into a neat, flat-ended ball."},
	{Name: "beaming", Also: []string{"winding on"}, See: []string{"warp beam", "raddle", "tension"},
		Says: "Winding the warp onto the warp beam at an even tension. Sticks or stiff paper between the layers keep the threads from sinking into those beneath."},
	{Name: "beat", See: []string{"beater", "press", "fell"},
		Says: "To push the weft up against the cloth with the beater. Beat picks of the full width; inside a lace group, press instead."},
	{Name: "beater", Also: []string{"batten"}, See: []string{"reed", "beat", "rigid heddle"},
		Says: "The moving frame that holds the reed and pushes the weft into place. On a rigid-heddle loom the heddle itself does this work."},
	{Name: "blocking", Also: []string{"pinning out", "pin out"}, See: []string{"wet finishing", "eyelet"},
		Says: "Laying the damp cloth flat, easing it to size and pinning it until it is dry, so that the lace holes dry open. Use pins that do not rust, and count them before and after."},
	{Name: "boat shuttle", See: []string{"bobbin", "butterfly", "stick shuttle"},
		Says: "A hollow shuttle, shaped like a boat, that carries a bobbin and slides through the open shed. It is quick on full-width picks; for small groups a butterfly or a narrow stick shuttle is handier."},
	{Name: "bobbin", See: []string{"boat shuttle", "weft"},
		Says: "The small spool of weft inside a boat shuttle. Wind it firmly and evenly, because a soft bobbin leaves loose loops at the edges."},
	{Name: "border", See: []string{"group", "eyelet", "turn"},
		Says: "In our plans, the line between two neighbouring groups, where the weft turns back. The eyelet opens there."},
	{Name: "bouquet", Also: []string{"Brooks bouquet"}, See: []string{"raised end", "Spanish lace"},
		Says: "Open work in which the weft, in one open shed, wraps each small bundle of raised ends, often three or four, and nips it tight. The next pick, in the other shed, holds the bundles in place."},
	{Name: "brake", See: []string{"pawl", "warp beam"},
		Says: "The part that keeps a beam from turning, by gripping it or with a toothed wheel and a catch. Hold the handle before you release it: a tight warp can spin it against your hand."},
	{Name: "breast beam", Also: []string{"front beam"}, See: []string{"cloth beam", "back beam"},
		Says: "The bar at the front of many looms, between you and the cloth, that the cloth passes over on its way to the cloth beam."},
	{Name: "bubble", Also: []string{"angle", "weft angle", "weft arc"}, See: []string{"draw-in", "selvedge"},
		Says: "To lay the weft in the shed as an arch, or at a slant, before you beat. The extra length lets it bend over and under the ends without pulling the edges in."},
	{Name: "butterfly", See: []string{"stick shuttle", "group"},
		Says: "A small figure-of-eight bundle of weft, wound round thumb and little finger and fastened at its waist. It needs no shuttle and slips easily under small groups."},
	{Name: "cloth beam", Also: []string{"cloth roller"}, See: []string{"warp beam", "advance"},
		Says: "The roller at the front of the loom that takes up the finished cloth."},
	{Name: "colourfast", Also: []string{"colorfast"}, See: []string{"dye", "wet finishing"},
		Says: "Said of yarn whose dye does not run when it gets wet. Wet a scrap and press it on white cloth before you trust it."},
	{Name: "comb", Also: []string{"weaving fork"}, See: []string{"press", "group"},
		Says: "A hand tool with teeth that presses the weft into place inside one group. The beater would push on the whole width at once."},
	{Name: "cotton count", Also: []string{"Ne", "cotton number"}, See: []string{"yarn count", "ply"},
		Says: "How many lengths of 840 yards (768 metres) weigh one pound (454 grams), so a higher number is a finer yarn. In 8/2 cotton, two single yarns of number 8 are twisted together."},
	{Name: "crimp", See: []string{"take-up"},
		Says: "The waves in a yarn that bends over and under others. As a figure, it tells how much longer the straightened yarn is than the cloth: 6 per cent means 106 cm in 100 cm of cloth, or 53 inches in 50."},
	{Name: "cross", Also: []string{"lease", "weaver's cross"}, See: []string{"cross sticks", "warping board"},
		Says: "The X in a wound warp, made by taking each thread round two pegs on the opposite sides from the thread before it. It keeps the ends in order until all are threaded."},
	{Name: "cross sticks", Also: []string{"lease sticks", "lease rods"}, See: []string{"cross", "threading"},
		Says: "Two smooth sticks put through the warp, one on either side of the cross. Tied together at both ends, they keep the order of the ends safe."},
	{Name: "cutting off", Also: []string{"cut off"}, See: []string{"fringe", "loom waste", "tension"},
		Says: "Cutting the warp to free the finished cloth, with enough left for fringe or knots. Loosen the tension first, cut away from your fingers, keep blades from children, and follow local safety rules."},
	{Name: "denier", See: []string{"tex", "yarn count"},
		Says: "The weight in grams of 9000 metres (about 9843 yards) of yarn, so a higher number is a thicker yarn."},
	{Name: "dent", See: []string{"reed", "sley", "rigid heddle"},
		Says: "One gap in a reed; a reed is named by its dents in an inch (2.5 cm) or in 10 cm (4 inches). On a rigid heddle every hole and every slot counts as one."},
	{Name: "direct warping", See: []string{"warping peg", "slot", "hole"},
		Says: "A way to warp a rigid-heddle loom: loops of yarn go through the slots and round a peg as far off as the warp is long. Once they are wound on, one end of each pair moves from its slot to the next hole."},
	{Name: "down shed", Also: []string{"heddle down"}, See: []string{"up shed", "slot"},
		Says: "The shed you get when the rigid heddle is pushed down: the ends in slots are on top, those in holes below."},
	{Name: "draw-in", See: []string{"reed width", "bubble", "shrinkage"},
		Says: "How much narrower the cloth is than the warp in the heddle or reed, because the weft pulls the edges inwards. Five to ten per cent is usual, and lace rows draw in more than plain ones."},
	{Name: "dye", See: []string{"colourfast", "wet finishing"},
		Says: "What gives yarn its colour. Wear gloves, keep dye and its pots away from food and children, and follow the packet, local rules and qualified advice."},
	{Name: "end", Also: []string{"warp end", "warp thread"}, See: []string{"warp", "raised end"},
		Says: "One thread of the warp. Count the ends on your own loom, because a row plan is made for exactly that number."},
	{Name: "ends per inch", Also: []string{"epi", "ends per cm", "ends per 10 cm"}, See: []string{"sett", "picks per inch"},
		Says: "How many ends lie side by side in one inch (2.5 cm) of the warp's width. Ten to the inch is about 39 in 10 cm."},
	{Name: "eyelet", See: []string{"border", "Spanish lace", "long slit"},
		Says: "A small hole in the cloth. In our plans it opens at the border of two groups, where the weft turns back and draws them apart."},
	{Name: "fell", Also: []string{"fell line"}, See: []string{"pick", "beat"},
		Says: "The line where the cloth stops and the bare warp begins. Keep it level from edge to edge."},
	{Name: "fibre", Also: []string{"fiber"}, See: []string{"single", "yarn count"},
		Says: "The fine stuff that yarn is spun from, such as cotton, flax, wool or silk."},
	{Name: "float", See: []string{"shed", "plain weave"},
		Says: "A stretch of yarn that passes over or under more than one thread without being caught. In plain weave it usually means that the shuttle missed an end."},
	{Name: "floating selvedge", Also: []string{"floating selvage"}, See: []string{"selvedge", "heddle"},
		Says: "An edge end that goes through the reed but through no heddle, so it stays halfway up the open shed. The shuttle goes in over the one and out under the other."},
	{Name: "fringe", See: []string{"hemstitching", "loom waste", "cutting off"},
		Says: "Warp left hanging at the ends of a piece, plain, knotted or twisted. On a rigid-heddle loom it often comes out of the loom waste."},
	{Name: "fulling", See: []string{"wet finishing", "shrinkage"},
		Says: "Shrinking wool cloth on purpose, with warm soapy water and rubbing, until it is thicker and its threads cling. It cannot be undone; hot water scalds, so follow the yarn label, local rules and qualified advice."},
	{Name: "group", See: []string{"raised end", "pass", "border"},
		Says: "In our plans, the neighbouring ends that the weft works back and forth before it moves on. Groups are named by their raised ends: a group of 3 usually has six ends in all."},
	{Name: "half-drop", See: []string{"row", "group", "two-way"},
		Says: "In our plans, every second row (worked two-way, every second pair of rows) has its borders moved by about half a group. So its holes lie between those below, like bricks in a wall."},
	{Name: "header", Also: []string{"heading"}, See: []string{"tie-on", "hem"},
		Says: "The first picks on a new warp, which spread the tied bundles of ends out evenly. They are often woven with thick waste yarn and taken out later."},
	{Name: "heddle", Also: []string{"heald"}, See: []string{"rigid heddle", "shaft", "threading"},
		Says: "A loop or strip of wire or cord with an eye for one end, so that the end can be raised or lowered. On a rigid-heddle loom people say it for the whole rigid heddle."},
	{Name: "heddle block", See: []string{"rigid heddle", "up shed", "down shed"},
		Says: "The part at each side of a rigid-heddle loom that holds the heddle in its place: up, down or at rest."},
	{Name: "hem", See: []string{"header", "hemstitching"},
		Says: "A plain-woven strip at the end of a piece, turned under twice and sewn so that it cannot fray. Plan extra warp for both turns."},
	{Name: "hemstitching", Also: []string{"hemstitch"}, See: []string{"fell", "fringe", "hem"},
		Says: "Needle stitches at an end of the cloth that tie two to four ends at a time to the nearest two or three picks, so nothing frays. Leave a tail of weft three to four times the cloth's width."},
	{Name: "hole", See: []string{"slot", "rigid heddle", "eyelet"},
		Says: "The eye in a bar of a rigid heddle; its end rises and sinks with the heddle. A hole in lace is called an eyelet."},
	{Name: "home pick", Also: []string{"pick home"}, See: []string{"one-way", "pick", "starting side"},
		Says: "In our plans, the plain pick that carries the weft straight back to the starting side after a one-way row."},
	{Name: "jammed", Also: []string{"jam"}, See: []string{"sett", "warp-faced"},
		Says: "Said of cloth in which the threads are already so close that no more fit. Ends set closer still make a warp-faced band, which is no ground for lace."},
	{Name: "join", Also: []string{"weft join"}, See: []string{"border", "weft"},
		Says: "Where a new weft lies beside the tail of the old one, in the same shed, for a few ends. In lace, join inside a group and never at a border."},
	{Name: "leftover", See: []string{"group", "plain edge"},
		Says: "In our plans, the ends that remain when the warp does not divide evenly into groups. Whole pairs join the far group, or are shared between the first and the last; a single odd end stays at the far edge."},
	{Name: "leno", Also: []string{"gauze"}, See: []string{"pick-up stick", "sett"},
		Says: "Open work in which neighbouring ends are crossed over each other, with the fingers or a pick-up stick. The weft goes through and holds them crossed."},
	{Name: "linen lea", Also: []string{"lea", "linen count"}, See: []string{"yarn count", "ply"},
		Says: "How many lengths of 300 yards (274 metres) weigh one pound (454 grams), so a higher number is a finer yarn."},
	{Name: "long slit", See: []string{"eyelet", "pass"},
		Says: "In our plans, an eyelet row with five or seven passes in each group instead of three. The holes come out taller."},
	{Name: "loom", See: []string{"rigid-heddle loom", "two-shaft loom", "shed"},
		Says: "The frame that holds the warp stretched and opens it for the weft."},
	{Name: "loom waste", Also: []string{"thrums"}, See: []string{"warp", "fringe"},
		Says: "Warp that cannot become cloth: the knots at the front and the last stretch behind the heddle, whose cut ends are called thrums. A rigid-heddle loom usually takes 30 to 60 cm (12 to 24 inches)."},
	{Name: "lowered end", See: []string{"raised end", "shed"},
		Says: "An end in the bottom layer of the open shed; the weft passes over it. In our plans lowered ends are not counted."},
	{Name: "medallion", Also: []string{"Danish medallion"}, See: []string{"pick", "Spanish lace"},
		Says: "Open work with a heavier outline weft laid before and after a band of plain picks. At even spaces a loop of it is hooked round the band and pulled tight, so that the band puckers into ovals."},
	{Name: "metric count", Also: []string{"Nm"}, See: []string{"yarn count", "yards per pound"},
		Says: "How many metres of yarn weigh one gram, so a higher number is a finer yarn. One metre to the gram is about 496 yards to the pound."},
	{Name: "one-way", See: []string{"home pick", "two-way", "row"},
		Says: "In our plans, a lace row that crosses the warp once, group by group, and then comes straight back in one plain pick."},
	{Name: "pass", See: []string{"pick", "shed", "group"},
		Says: "In our plans, any one trip of the weft through an open shed, under a few ends or all of them. Change the shed before each new pass."},
	{Name: "pawl", Also: []string{"ratchet"}, See: []string{"brake", "advance"},
		Says: "The small catch that drops between the teeth of a wheel, the ratchet, and keeps a beam from turning back. Hold the handle and keep fingers clear when you free it."},
	{Name: "pick", Also: []string{"shot"}, See: []string{"pass", "weft", "picks per inch"},
		Says: "One line of weft from edge to edge, in one shed. In our plans a shorter trip is called a pass, never a pick."},
	{Name: "pick-up stick", See: []string{"shed stick", "leno"},
		Says: "A thin, smooth, flat stick, often pointed, that picks up chosen ends. Turned on its edge, it holds them apart for the weft."},
	{Name: "picks per inch", Also: []string{"ppi", "picks per cm", "picks per 10 cm"}, See: []string{"ends per inch", "beat"},
		Says: "How many picks lie one above another in one inch (2.5 cm) of cloth. Ten to the inch is about 39 in 10 cm."},
	{Name: "plain edge", See: []string{"group", "leftover", "selvedge"},
		Says: "In our plans, a few pairs of ends at each side that make a group of their own, without holes in it. It gets as many passes as every other group, so that the fell stays level."},
	{Name: "plain weave", Also: []string{"tabby"}, See: []string{"balanced weave", "shed"},
		Says: "The simplest weave: the weft goes over one end and under the next, and the other way round in the following pick."},
	{Name: "ply", See: []string{"single", "strand", "yarn count"},
		Says: "One of the single yarns that are twisted together to make a thicker, stronger yarn. A two-ply yarn has two."},
	{Name: "posture", See: []string{"tension", "beat"},
		Says: "How you sit at the loom: feet flat, back upright, shoulders loose, elbows a little above the cloth. Rest and stretch often, and if something hurts, stop and seek qualified advice."},
	{Name: "press", See: []string{"comb", "beat", "group"},
		Says: "To push the weft into place with fingers or a comb, a little at a time. Press inside a lace group; the beater is for picks of the full width."},
	{Name: "raddle", See: []string{"beaming", "warp beam"},
		Says: "A bar with widely spaced pegs or nails that spreads the warp to its width while it is wound onto the warp beam."},
	{Name: "raised end", See: []string{"lowered end", "shed", "group"},
		Says: "An end in the top layer of the open shed. In our plans you count only raised ends: to go under 3 means beneath the next three of them."},
	{Name: "reed", See: []string{"dent", "sley", "rigid heddle"},
		Says: "A frame of thin upright wires that spaces the ends and, held in the beater, pushes the weft into place. A rigid heddle is reed and heddle in one."},
	{Name: "reed width", Also: []string{"width in the reed", "width in the heddle"}, See: []string{"draw-in", "sett"},
		Says: "The width of the warp where it stands in the heddle or reed. Measure there and not on the cloth, which is narrower."},
	{Name: "rigid heddle", See: []string{"hole", "slot", "heddle block"},
		Says: "A frame of upright bars with a hole in every bar and a slot between bars. It spaces the ends, opens both sheds and beats the weft."},
	{Name: "rigid-heddle loom", See: []string{"rigid heddle", "up shed", "down shed"},
		Says: "A small loom whose two sheds are opened by lifting or lowering the rigid heddle by hand."},
	{Name: "row", See: []string{"group", "one-way", "two-way"},
		Says: "In our plans, one journey of the weft across the whole warp, group by group. A plain pick is not a row."},
	{Name: "sample", See: []string{"sett", "shrinkage"},
		Says: "A small trial piece, woven and washed before the real one. It shows how your own yarn, sett and beat behave."},
	{Name: "selvedge", Also: []string{"selvage"}, See: []string{"turn", "draw-in"},
		Says: "The long edge of the cloth, where the weft turns back. Lay each turn there softly, and the edge stays straight."},
	{Name: "sett", See: []string{"ends per inch", "wraps per inch", "sley"},
		Says: "How closely the ends stand, in ends per inch or per 10 cm (4 inches). With one end in each hole and slot, the rigid heddle's number is the sett."},
	{Name: "shaft", Also: []string{"harness"}, See: []string{"heddle", "two-shaft loom"},
		Says: "A frame that carries many heddles, so that all their ends rise or sink together."},
	{Name: "shed", See: []string{"raised end", "lowered end", "pass"},
		Says: "The opening between raised and lowered ends that the weft goes through. A plain-weave loom has two: one raises every second end, the other raises the rest."},
	{Name: "shed stick", See: []string{"pick-up stick", "shed"},
		Says: "A smooth flat stick slid into the shed and turned on its edge. It holds the shed open and clears ends that stick together."},
	{Name: "shrinkage", See: []string{"wet finishing", "sample", "draw-in"},
		Says: "How much smaller the cloth is after its first wash than before it. Cotton often loses 8 to 12 per cent and wool 8 to 15, but only a washed sample can tell."},
	{Name: "shuttle", See: []string{"stick shuttle", "boat shuttle", "butterfly"},
		Says: "Any tool that carries the weft through the shed."},
	{Name: "single", Also: []string{"singles yarn"}, See: []string{"ply", "yarn count"},
		Says: "A yarn spun from fibre and not yet twisted together with another."},
	{Name: "skein", Also: []string{"hank"}, See: []string{"swift", "ball winder"},
		Says: "Yarn wound in a loose ring and tied so that it cannot tangle. Open it onto a swift before you wind it off."},
	{Name: "slack", See: []string{"turn", "selvedge", "snug"},
		Says: "In our plans, said of a turn at a selvedge: a little loop of weft is left beyond the edge end, so that it is not pulled inwards and the edge stays straight."},
	{Name: "sley", Also: []string{"sleying", "sleying order"}, See: []string{"reed", "dent", "sett"},
		Says: "To draw the ends through the gaps (dents) of a reed. An order of 1-2 means one end in the first dent, two in the next, and so on again."},
	{Name: "slot", See: []string{"hole", "rigid heddle", "down shed"},
		Says: "The long gap between two bars of a rigid heddle. Its end stays level when the heddle moves, so it is on top when the heddle is down."},
	{Name: "snug", See: []string{"turn", "eyelet", "slack"},
		Says: "In our plans, said of a turn between groups: draw the weft firmly enough to pull the groups apart and open the hole."},
	{Name: "Spanish lace", Also: []string{"Spanish eyelet"}, See: []string{"eyelet", "group", "row"},
		Says: "Open work in which the weft goes back and forth in one small group of ends after another. Where it turns between two groups it pulls them apart, and a hole opens."},
	{Name: "spun silk count", Also: []string{"silk count"}, See: []string{"cotton count", "metric count", "ply"},
		Says: "In the English mill count, 40/2 spun silk means 40 lengths of 840 yards (768 metres) of finished yarn in one pound (454 grams), not divided by two. Shops often sell silk by other counts, so check the length on the label."},
	{Name: "starting side", See: []string{"home pick", "selvedge"},
		Says: "In our plans, the side of the warp, left or right, where the first pass goes in. Groups and their ends are counted from there."},
	{Name: "stick shuttle", Also: []string{"flat shuttle"}, See: []string{"butterfly", "boat shuttle"},
		Says: "A flat stick with a notch at each end, wound lengthwise with weft. Choose a narrow one for lace, so that it passes small groups."},
	{Name: "strand", See: []string{"ply", "weft"},
		Says: "In our plans, one whole yarn of those that run side by side as one weft. Unless you say otherwise, we count two strands, wound together but not twisted."},
	{Name: "swift", Also: []string{"umbrella swift"}, See: []string{"skein", "ball winder"},
		Says: "A turning frame that holds a skein open while you wind the yarn off it."},
	{Name: "take-up", See: []string{"crimp", "draw-in", "warp"},
		Says: "Yarn length used up because the threads bend over and under each other, so cloth is shorter than its warp. Ten per cent is the usual guess."},
	{Name: "temple", Also: []string{"stretcher"}, See: []string{"draw-in", "fell"},
		Says: "An adjustable bar with sharp points at both ends that holds the cloth to its full width near the fell. Mind your fingers, and cover the points when it is put away."},
	{Name: "tension", See: []string{"warp", "brake", "tie-on"},
		Says: "How tightly the warp or the weft is stretched. A warp should feel equally tight from edge to edge under the flat of your hand."},
	{Name: "tex", See: []string{"denier", "yarn count"},
		Says: "The weight in grams of 1000 metres (about 1094 yards) of yarn, so a higher number is a thicker yarn."},
	{Name: "threading", See: []string{"heddle", "cross", "threading hook"},
		Says: "Drawing each end through its own heddle, hole or slot, in the right order. After a mistake two neighbours may rise together."},
	{Name: "threading hook", Also: []string{"heddle hook", "reed hook", "sley hook"}, See: []string{"threading", "sley"},
		Says: "A thin hook that pulls ends through heddles, holes, slots or dents."},
	{Name: "tie-on", Also: []string{"tying on"}, See: []string{"apron rod", "tension", "header"},
		Says: "Knotting the warp in small bundles to the front apron rod, until all feel equally tight. Weavers also say it for knotting a new warp to the ends of an old one."},
	{Name: "treadle", See: []string{"shaft", "two-shaft loom"},
		Says: "A pedal that moves the shafts of a floor loom, so that your hands stay free."},
	{Name: "turn", See: []string{"slack", "snug", "border"},
		Says: "In our plans, the place where the weft changes direction. Leave it slack at a selvedge, so that the edge stays straight; draw it snug between groups, so that the hole opens."},
	{Name: "twill", See: []string{"sett", "plain weave"},
		Says: "A weave with slanting lines, in which the weft goes over or under two or more ends at a time and steps one end sideways with each pick. A loom with two sheds needs extra sticks or heddles for it."},
	{Name: "two-shaft loom", Also: []string{"two-harness loom"}, See: []string{"shaft", "shed"},
		Says: "A loom with two shafts and so two sheds, with the ends threaded in turn on one shaft and the other. It can weave every row plan that a rigid-heddle loom can."},
	{Name: "two-way", See: []string{"one-way", "row", "border"},
		Says: "In our plans, lace worked in both directions: the way back is an eyelet row too, on the same group borders."},
	{Name: "unpick", Also: []string{"unweave"}, See: []string{"pass", "shed"},
		Says: "To take weft out again, the latest pass first. Open the shed it lies in and draw it back gently, so that the ends do not chafe."},
	{Name: "up shed", Also: []string{"heddle up"}, See: []string{"down shed", "hole"},
		Says: "The shed you get when the rigid heddle is lifted: the ends in holes are on top, those in slots below."},
	{Name: "warp", See: []string{"end", "weft", "tension"},
		Says: "All the threads stretched lengthwise on the loom before you weave. The weft goes across them."},
	{Name: "warp beam", Also: []string{"warp roller"}, See: []string{"beaming", "cloth beam", "back beam"},
		Says: "The roller at the back of the loom that holds the warp not yet woven."},
	{Name: "warp-faced", See: []string{"sett", "balanced weave", "weft-faced"},
		Says: "Said of cloth whose ends are set so close that they hide the weft, as in many woven bands."},
	{Name: "warping board", See: []string{"cross", "warping peg", "warp"},
		Says: "A frame with pegs round which the warp is wound to its length, with its cross, before it goes on the loom."},
	{Name: "warping peg", Also: []string{"peg"}, See: []string{"direct warping", "warping board"},
		Says: "A post fastened to a table, as far from the loom as the warp is long, that holds the loops in direct warping. The posts of a warping board are pegs too."},
	{Name: "weft", Also: []string{"woof", "filling"}, See: []string{"pick", "warp", "shuttle"},
		Says: "The yarn that you weave across the warp, from side to side."},
	{Name: "weft-faced", See: []string{"sett", "balanced weave", "warp-faced"},
		Says: "Said of cloth whose weft is packed so close that it hides the warp, as in tapestry and many rugs."},
	{Name: "wet finishing", See: []string{"blocking", "shrinkage", "fulling"},
		Says: "The first wash, in which the threads swell, settle and become cloth. Hot water scalds people and shrinks yarn: use it no hotter than the yarn label allows, and follow local rules and qualified advice."},
	{Name: "woollen run", Also: []string{"woolen run"}, See: []string{"worsted count", "yarn count"},
		Says: "How many lengths of 1600 yards (1463 metres) weigh one pound (454 grams), so a higher number is a finer yarn. It is an American count for woollen-spun yarns."},
	{Name: "worsted count", Also: []string{"worsted number"}, See: []string{"yarn count", "ply"},
		Says: "How many lengths of 560 yards (512 metres) weigh one pound (454 grams), so a higher number is a finer yarn. In 2/16 worsted, two single yarns of number 16 are twisted together."},
	{Name: "wraps per inch", Also: []string{"wpi"}, See: []string{"sett", "yarn count"},
		Says: "How many turns of a yarn lie side by side, touching but not squashed, on one inch (2.5 cm) of a ruler. Half of them is a quick guess at the ends per inch for plain weave."},
	{Name: "yards per pound", Also: []string{"grist", "yield", "metres per 100 grams", "meters per 100 grams"}, See: []string{"yarn count", "wraps per inch"},
		Says: "How much length a yarn gives for its weight; metric labels say metres per 100 grams. 1000 yards per pound is about 202 metres per 100 grams."},
	{Name: "yarn count", Also: []string{"yarn number"}, See: []string{"cotton count", "worsted count", "linen lea", "metric count", "tex"},
		Says: "A number that tells how fine or thick a yarn is by its length and weight. In cotton, worsted, linen and metric counts a higher number is finer; in tex and denier it is thicker."},
}

const (
	longestAsked = 64 // bytes of a name; longer text is no word of the trade
	mostNear     = 3
)

// lookUp finds the entry called name, by its Name or one of its other names.
// Capitals, spaces, hyphens, other punctuation and a plural ending make no
// difference. When there is none, near holds at most three entries whose
// names begin like name or are few slips of the keyboard away, likeliest
// first; it is empty when found, and for text that resembles nothing.
func lookUp(name string) (w Word, found bool, near []Word) {
	if len(name) > longestAsked {
		return Word{}, false, nil
	}
	asked := wordKey(name)
	if asked == "" {
		return Word{}, false, nil
	}
	for _, w := range glossary {
		for _, known := range w.names() {
			if wordKey(known) == asked {
				return w, true, nil
			}
		}
	}
	return Word{}, false, nearWords(asked)
}

// names lists every name by which the entry is known.
func (w Word) names() []string {
	return append([]string{w.Name}, w.Also...)
}

// wordKey reduces a name to what must agree: letters and digits in lower
// case, in the singular.
func wordKey(name string) string {
	joined := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, name)
	return singular(joined)
}

// singular takes off the usual English plural ending. It need only give the
// same answer for both forms of a word, not a word of the language.
func singular(s string) string {
	if len(s) < 4 {
		return s
	}
	if stem, ok := strings.CutSuffix(s, "ies"); ok && len(stem) > 1 {
		return stem + "y"
	}
	for _, ending := range []string{"sses", "shes", "ches", "xes"} {
		if strings.HasSuffix(s, ending) {
			return strings.TrimSuffix(s, "es")
		}
	}
	if strings.HasSuffix(s, "ss") {
		return s
	}
	return strings.TrimSuffix(s, "s")
}

// nearWords ranks the entries that someone who wrote asked may have meant.
func nearWords(asked string) []Word {
	type guess struct {
		word Word
		cost int
	}
	var guesses []guess
	for _, w := range glossary {
		best := -1
		for i, known := range w.names() {
			c, ok := guessCost(asked, wordKey(known))
			c *= 2
			if i > 0 {
				c++ // between equals, the name at the head of an entry wins
			}
			if ok && (best < 0 || c < best) {
				best = c
			}
		}
		if best >= 0 {
			guesses = append(guesses, guess{w, best})
		}
	}
	slices.SortStableFunc(guesses, func(a, b guess) int { return cmp.Compare(a.cost, b.cost) })
	var near []Word
	for _, g := range guesses[:min(mostNear, len(guesses))] {
		near = append(near, g.word)
	}
	return near
}

// guessCost says how far asked is from a known key, and whether that is near
// enough to be worth offering: a beginning counts as one slip, a known word
// with more after it as two, and one slip is allowed for every three letters.
func guessCost(asked, known string) (cost int, ok bool) {
	slips, letters := bot.Distance(asked, known), utf8.RuneCountInString(asked)
	near := slips <= min(3, letters/3)
	switch {
	case near && slips <= 1:
		return slips, true
	case letters >= 2 && strings.HasPrefix(known, asked):
		return 1, true
	case utf8.RuneCountInString(known) >= 3 && strings.HasPrefix(asked, known):
		return 2, true
	}
	return slips, near
}
