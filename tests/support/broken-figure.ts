/** The first place of a text where a figure or name is none, with what stands around it; undefined when it is sound. */
export const brokenFigure = (text: string): string | undefined =>
  text.match(/.{0,60}\b(NaN|undefined|null|-?Infinity|\[object Object\])\b.{0,60}/)?.[0];
