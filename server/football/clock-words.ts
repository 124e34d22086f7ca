const two = (value: number) => String(value).padStart(2, '0');

/** Seconds as `12:05`, from an hour on as `1:02:03`: a game clock, or a place in a film. */
export function clockInWords(seconds: number): string {
  const whole = Math.floor(seconds);
  const minutes = Math.floor(whole / 60);
  return minutes < 60 ? `${minutes}:${two(whole % 60)}` : timecodeInWords(whole);
}

/** Seconds of a film as `h:mm:ss`, tenths kept. */
export function timecodeInWords(seconds: number): string {
  const tenths = Math.round(seconds * 10);
  const whole = Math.floor(tenths / 10);
  const text = `${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
  return tenths % 10 === 0 ? text : `${text}.${tenths % 10}`;
}
