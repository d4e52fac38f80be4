/** The comments by which the night file says more than its rows. */

/** Begins a comment that takes a sighting back; its row follows as it stands. */
export const WITHDRAWN = "withdrawn:";
/** Begins the comment that the journal writes after a line that had no end. */
export const CUT_SHORT = "cut short:";
