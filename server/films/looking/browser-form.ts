import { beginsAtOnce } from './mp4-boxes.ts';
import { type Probed, pictureOf, soundOf } from './probed.ts';

/** How a film is served: its file as it is, or one made of it. Pictures are never coded anew. */
export interface BrowserForm {
  readonly form: 'mp4' | 'webm' | null;
  readonly make: null | { readonly sound: 'copied' | 'coded as AAC' };
}

const inMp4 = new Set(['h264', 'av1']);
const inWebm = new Set(['vp8', 'vp9', 'av1']);
const evenly = new Set(['yuv420p', 'yuvj420p', undefined]);

/** By what browsers commonly play: H.264 with AAC or MP3 in MP4, VP8, VP9 or AV1 with Opus or Vorbis in WebM. */
export function browserForm(read: Probed, boxes: readonly string[]): BrowserForm {
  const { codec_name: picture = '', pix_fmt } = pictureOf(read)!;
  const sound = soundOf(read)?.codec_name;
  const name = read.format!.format_name;
  const isMp4 = name.includes('mp4');
  const brand = read.format!.tags?.major_brand?.trim();
  const soundInMp4 = sound === undefined || sound === 'aac' || sound === 'mp3';
  const make = { sound: soundInMp4 ? 'copied' : 'coded as AAC' } as const;
  if (inMp4.has(picture) && evenly.has(pix_fmt)) {
    const asItIs = isMp4 && brand !== 'qt' && soundInMp4 && beginsAtOnce(boxes);
    return { form: 'mp4', make: asItIs ? null : make };
  }
  if (inWebm.has(picture)) {
    if (isMp4) return { form: 'mp4', make: beginsAtOnce(boxes) ? null : make };
    const soundInWebm = sound === undefined || sound === 'opus' || sound === 'vorbis';
    return { form: soundInWebm ? 'webm' : null, make: null };
  }
  return { form: null, make: null };
}
