/** Begins the comment that the journal writes after a line that had no end. */
export const CUT_SHORT = "cut short:";
