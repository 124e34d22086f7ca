import { createHash } from 'node:crypto';
import { samplesIn } from '../../timeline/shot-frames.ts';
import { timescale } from './constants.ts';

/** What a clip is made from: a file with what goes before it, and what tells it from every other. */
export interface ClipInput {
  readonly options: readonly string[];
  readonly file: string;
  readonly identity: string;
  /** Of somebody's voice: what is made with it goes when the recording does. */
  readonly recordingId?: string;
}

/** A stretch of the reel as it is to be made; the graph ends in [v] and [a]. */
export interface Clip {
  readonly inputs: readonly ClipInput[];
  readonly graph: string;
  readonly frames: number;
}

/** Sound of so many frames, whatever comes before: samples are counted, not seconds. */
export const soundOfFrames = (frames: number) =>
  `aformat=sample_fmts=s16:sample_rates=48000:channel_layouts=stereo,apad,atrim=end_sample=${samplesIn(frames)}`;
export const silence = (frames: number) =>
  `anullsrc=r=48000:cl=stereo,atrim=end_sample=${samplesIn(frames)},aformat=sample_fmts=s16:channel_layouts=stereo`;

/** Every clip is coded alike, so that they join without being coded anew; nothing tells when or where it was made. */
const coding = [
  ...['-map', '[v]', '-map', '[a]', '-map_metadata', '-1', '-map_chapters', '-1'],
  ...['-c:v', 'libx264', '-preset', 'veryfast', '-crf', '23', '-threads', '2', '-bf', '2'],
  ...['-x264-params', 'keyint=60:min-keyint=60:scenecut=0:open-gop=0', '-pix_fmt', 'yuv420p'],
  ...['-color_primaries', 'bt709', '-color_trc', 'bt709', '-colorspace', 'bt709'],
  ...['-c:a', 'pcm_s16le', '-video_track_timescale', String(timescale)],
  ...['-fflags', '+bitexact', '-flags:v', '+bitexact', '-flags:a', '+bitexact', '-f', 'mov'],
];

/** Arguments of ffmpeg that make the clip. @param fileOf the name that each input has there */
export const clipArguments = (
  { inputs, graph }: Clip,
  to: string,
  fileOf: (input: ClipInput) => string = ({ file }) => `file:${file}`,
): string[] => [
  ...['-nostdin', '-v', 'error', '-y', '-filter_threads', '1', '-filter_complex_threads', '1'],
  ...inputs.flatMap((input) => ['-threads', '2', ...input.options, '-i', fileOf(input)]),
  ...['-filter_complex', graph, ...coding, to],
];

/** The same for the same clip made by the same program: its name among finished clips. */
export function clipKey(clip: Clip, ffmpeg: string): string {
  const digest = createHash('sha256')
    .update(JSON.stringify([...[ffmpeg, clip.frames], clipArguments(clip, '', ({ identity }) => identity)]))
    .digest('hex');
  const spoken = clip.inputs.find(({ recordingId }) => recordingId !== undefined);
  return spoken ? `${digest}.${spoken.recordingId}` : digest;
}
