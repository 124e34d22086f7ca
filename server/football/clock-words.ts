const two = (value: number) => String(value).padStart(2, '0');

/** Seconds as `12:05`, from an hour on as `1:02:03`: a game clock, or a place in a film. */
export function clockInWords(seconds: number): string {
  const whole = Math.floor(seconds);
  return whole < 3600 ? `${Math.floor(whole / 60)}:${two(whole % 60)}` : timecode(whole, 0);
}

/** Seconds of a film as `h:mm:ss`, tenths kept. */
export function timecodeInWords(seconds: number): string {
  return timecode(seconds, 1).replace(/\.0$/, '');
}

/** Seconds of a film as `h:mm:ss` with so many decimals: `timecode(754.2, 3)` is `0:12:34.200`. */
export function timecode(seconds: number, decimals: number): string {
  const parts = 10 ** decimals;
  const all = Math.round(seconds * parts);
  const whole = Math.floor(all / parts);
  const text = `${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
  return decimals === 0 ? text : `${text}.${String(all % parts).padStart(decimals, '0')}`;
}
