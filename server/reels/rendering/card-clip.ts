import { frameRate } from '../../timeline/frames.ts';
import { type Clip, type ClipInput, silence } from './clip.ts';

const rate = `${frameRate.frames}/${frameRate.seconds}`;

/** How a picture of ours is read. */
export const pictureOptions = ['-protocol_whitelist', 'file', '-f', 'png_pipe', '-framerate', rate] as const;

/** A card that stands for so many frames, silent. */
export const cardClip = (picture: ClipInput, frames: number): Clip => ({
  inputs: [picture],
  frames,
  graph: [
    `[0:v]format=yuv420p,setsar=1,tpad=stop=-1:stop_mode=clone,trim=end_frame=${frames}[v]`,
    `${silence(frames)}[a]`,
  ].join(';'),
});
