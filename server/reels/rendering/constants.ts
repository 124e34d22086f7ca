/** Of every reel, whatever its films have. */
export const pictureSize = { width: 1280, height: 720 } as const;
/** 48,000 samples a second, in two channels. */
export const sampleRate = 48_000;
/** A clip's time scale, of which a frame lasts 1001. */
export const timescale = 30_000;
export const frameTicks = 1001;
