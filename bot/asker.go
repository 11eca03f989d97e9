package bot

import "weftroom/calc/measure"

// Asker is what the core must know of the one who asks.
type Asker struct {
	Units  measure.Units // Unset when neither she nor her class has said
	Role   Role          // in the class that is meant
	Class  string        // its id, "" for none
	Direct bool          // what she asks in a room is answered by direct message
	Known  any           // what was found out of her on the way; see Call.Known
}
