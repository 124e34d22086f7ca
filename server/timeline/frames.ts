/** Frames a second of every reel: 30000/1001, as SMPTE ST 12-1 has it for what is called 29.97. */
export const frameRate = { frames: 30_000, seconds: 1001 } as const;

/** The nearest whole number of frames, 0 or more. @throws RangeError when `seconds` is below 0 or not finite. */
export function framesIn(seconds: number): number {
  if (!(seconds >= 0 && Number.isFinite(seconds))) {
    throw new RangeError(`a length must be 0 seconds or more, not ${seconds}`);
  }
  return Math.round((seconds * frameRate.frames) / frameRate.seconds);
}

export const secondsOf = (frames: number): number => (frames * frameRate.seconds) / frameRate.frames;

const framesInTenMinutes = 17_982;
const framesInMinute = 1798;

/**
 * Drop-frame time code, HH:MM:SS;FF (SMPTE ST 12-1): frame numbers 0 and 1 of each minute are left out but for every
 * tenth, so that the code keeps up with the clock. After 24 hours it begins anew.
 *
 * @throws RangeError when `frames` is no whole number of 0 or more.
 */
export function dropFrameTimecode(frames: number): string {
  if (!(Number.isInteger(frames) && frames >= 0))
    throw new RangeError(`a frame must be 0, 1, 2, ..., not ${frames}`);
  const tens = Math.floor(frames / framesInTenMinutes);
  const rest = frames % framesInTenMinutes;
  // The first minute of ten has two frames more than the others.
  const dropped = 18 * tens + (rest < 1800 ? 0 : 2 * (1 + Math.floor((rest - 1800) / framesInMinute)));
  const number = frames + dropped;
  const two = (value: number) => String(value).padStart(2, '0');
  const hours = Math.floor(number / 108_000) % 24;
  return `${two(hours)}:${two(Math.floor(number / 1800) % 60)}:${two(Math.floor(number / 30) % 60)};${two(number % 30)}`;
}
