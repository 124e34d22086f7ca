import { ofStrangers } from '../../films/looking/probe.ts';
import { frameRate, secondsOf } from '../../timeline/frames.ts';
import { type ShotFrames, samplesIn, seekEarly } from '../../timeline/shot-frames.ts';
import type { PictureBox } from '../cards/overlay-svg.ts';
import { type Clip, type ClipInput, silence, soundOfFrames } from './clip.ts';
import { pictureSize } from './constants.ts';
import { limited } from './limiter.ts';

/** A picture with alpha that lies over a clip from a frame to the last, both in it. */
export interface Overlay {
  readonly picture: ClipInput;
  readonly from: number;
  readonly last: number;
}

/** What is said over a clip: so many samples of a sound file from one on. */
interface VoicePart {
  readonly sound: ClipInput;
  readonly fromSample: number;
}

interface ShotToMake {
  readonly place: ShotFrames;
  readonly film: { readonly file: string; readonly identity: string };
  /** Of the film's own: its sound is heard. */
  readonly sound: boolean;
  readonly overlays: readonly Overlay[];
  readonly voice: VoicePart | null;
  /** Frames for which the last one is held, where something is still being said. */
  readonly hold: number;
}

const { width, height } = pictureSize;
const rate = `${frameRate.frames}/${frameRate.seconds}`;
/** The film's own sound, while something is said over it. */
const underVoice = 0.25;

/** Pixels as a square screen has them, as large as fit. */
const fitted = [
  `scale=w='trunc(min(${width},${height}*dar)/2+0.5)*2':h='trunc(min(${height},${width}/dar)/2+0.5)*2':flags=bicubic`,
  `pad=${width}:${height}:-1:-1,setsar=1,format=yuv420p`,
].join(',');

/** Where the filter above puts a picture of this aspect (width ÷ height, as it is shown). */
export function pictureBox(aspect: number): PictureBox {
  const even = (value: number) => Math.trunc(value / 2 + 0.5) * 2;
  const own = {
    width: even(Math.min(width, height * aspect)),
    height: even(Math.min(height, width / aspect)),
  };
  return { ...own, x: (width - own.width) / 2, y: (height - own.height) / 2 };
}

/** A stretch of film as a clip. */
export function shotClip({ place, film, sound, overlays, voice, hold }: ShotToMake): Clip {
  const frames = place.frames + hold;
  const heard = sound && place.slow === 1;
  const length = secondsOf(place.taken) + 1;
  const inputs: ClipInput[] = [
    {
      options: [
        ...ofStrangers,
        ...['-ss', Math.max(0, place.seek - seekEarly).toFixed(6), '-t', length.toFixed(6)],
      ],
      ...film,
    },
    ...overlays.map(({ picture }) => picture),
    ...(voice ? [voice.sound] : []),
  ];
  const drawn = overlays.map(({ from, last }, at) => {
    // What lies over the last frame lies over it while it is held.
    const until = last >= place.frames - 1 ? frames - 1 : last;
    return `[v${at}][${at + 1}:v]overlay=0:0:eof_action=repeat:enable='between(n,${from},${until})'[v${at + 1}]`;
  });
  const shown = `[0:V:0]fps=${rate}:start_time=0:round=near,trim=end_frame=${place.taken},${fitted}${mapped(place)},tpad=stop=-1:stop_mode=clone,trim=end_frame=${frames}[v0]`;
  return {
    inputs,
    frames,
    graph: [
      shown,
      ...drawn,
      `[v${overlays.length}]format=yuv420p[v]`,
      soundGraph(place, frames, heard, voice && { at: inputs.length - 1, from: voice.fromSample }),
    ].join(';'),
  };
}

/** Slow and freezes as a map of whole frames; what it leaves open is filled by repetition. */
function mapped({ slow, freezes }: ShotFrames): string {
  if (slow === 1 && freezes.length === 0) return '';
  const held = freezes.map(({ after, frames }) => `+${frames}*gt(N,${after})`).join('');
  return `,settb=${frameRate.seconds}/${frameRate.frames},setpts='N*${slow}${held}',fps=${rate}:round=near`;
}

function soundGraph(
  place: ShotFrames,
  frames: number,
  heard: boolean,
  voice: { at: number; from: number } | null,
): string {
  const own = heard ? filmSound(place, frames) : null;
  if (voice === null) return own === null ? `${silence(frames)}[a]` : `${own}[a]`;
  const said = `[${voice.at}:a:0]atrim=start_sample=${voice.from},asetpts=N/SR/TB,${soundOfFrames(frames)}`;
  if (own === null) return `${said}[a]`;
  return `${own}[own];${said}[said];[own]volume=${underVoice}[low];[low][said]amix=inputs=2:normalize=0:duration=first,${limited(0.95)},${soundOfFrames(frames)}[a]`;
}

/** The film's sound; while its picture is frozen there is none. */
function filmSound(place: ShotFrames, frames: number): string {
  const steady = `[0:a:0]aresample=48000:async=1:first_pts=0,aformat=sample_fmts=s16:sample_rates=48000:channel_layouts=stereo,apad`;
  const cuts = place.freezes.map(({ after }) => samplesIn(after + 1));
  if (cuts.length === 0) return `${steady},atrim=end_sample=${samplesIn(frames)}`;
  const bounds = [0, ...cuts, samplesIn(place.taken)];
  const parts = bounds.slice(1).flatMap((end, at) => {
    const piece = `[s${at}]atrim=start_sample=${bounds[at]}:end_sample=${Math.max(end, bounds[at]! + 1)},asetpts=N/SR/TB[p${at}]`;
    const held = place.freezes[at];
    return held ? [piece, `${silence(held.frames)}[f${at}]`] : [piece];
  });
  const order = bounds
    .slice(1)
    .map((_, at) => (place.freezes[at] ? `[p${at}][f${at}]` : `[p${at}]`))
    .join('');
  const pieces = bounds.length - 1;
  const split = Array.from({ length: pieces }, (_, at) => `[s${at}]`).join('');
  return `${steady},atrim=end_sample=${samplesIn(place.taken)},asplit=${pieces}${split};${parts.join(';')};${order}concat=n=${pieces + place.freezes.length}:v=0:a=1,${soundOfFrames(frames)}`;
}
