/** A short key for a text, the same for the same text (FNV-1a of 32 bits, twice over different starts). */
export function textKey(text: string): string {
  const hash = (start: number): string => {
    let value = start;
    for (let index = 0; index < text.length; index++) {
      value = Math.imul(value ^ text.charCodeAt(index), 0x01000193);
    }
    return (value >>> 0).toString(36);
  };
  return `${hash(0x811c9dc5)}${hash(0x2545f491)}`;
}
