import type { Ended } from '../../films/looking/tool-process.ts';

/** Why a reel cannot be made as it is: a sentence for the coordinator. */
export class ReelFailed extends Error {
  override name = 'ReelFailed';
}

/** Why it has to wait for what passes. */
export class ReelWaits extends Error {
  override name = 'ReelWaits';
}

export const diskFull =
  'The disk of the server is full. Whoever runs it has to free some room; it is tried again every five minutes, and what is finished stays.';

export const ffmpegGone =
  'ffmpeg is no longer on the server. Whoever runs it has to install ffmpeg, with ffprobe; the reel then goes on by itself within five minutes, and what is finished stays.';

/** @throws ReelWaits on a full disk, ReelFailed where `what` could not be done */
export function requireDone({ code, tookTooLong, errors }: Ended, what: string): void {
  if (code === 0) return;
  if (/No space left on device/i.test(errors)) throw new ReelWaits(diskFull);
  if (tookTooLong)
    throw new ReelFailed(`${what} took far longer than it should, so it was given up. Cut it shorter.`);
  if (/Cannot allocate memory|Out of memory/i.test(errors))
    throw new ReelFailed(`${what} needed more memory than a reel may take. Bring its film smaller.`);
  throw new ReelFailed(
    `${what} did not work: its film cannot be read there. Play that part of the film, or bring it anew.`,
  );
}
