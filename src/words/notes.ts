/** Notes as they are read. */

/** What a note says and what to do, as one text. */
export function noteText({ message, remedy }: { readonly message: string; readonly remedy: string }): string {
  return `${message} ${remedy}`.trim();
}
