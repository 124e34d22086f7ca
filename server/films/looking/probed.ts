import { z } from 'zod';
import { clockInWords } from '../../football/clock-words.ts';
import type { FilmFacts } from '../film-facts.ts';
import type { FrameTimes } from './frame-times.ts';

/** A picture of 4096 x 2176, the largest that H.264 has at level 5.1; decoding one takes so many times four bytes. */
export const mostPixels = 8_912_896;
const longest = 86_400;

const stream = z.object({
  codec_type: z.string().optional(),
  codec_name: z.string().optional(),
  pix_fmt: z.string().optional(),
  width: z.number().optional(),
  height: z.number().optional(),
  disposition: z.record(z.string(), z.number()).optional(),
  side_data_list: z.array(z.looseObject({ rotation: z.number().optional() })).optional(),
});
/** Of what `ffprobe -show_streams -show_format -of json` writes, what is looked at. */
const probed = z.object({
  streams: z.array(stream).default([]),
  format: z
    .object({
      format_name: z.string(),
      duration: z.coerce.number().optional(),
      tags: z.record(z.string(), z.string()).optional(),
    })
    .optional(),
});
export type Probed = z.infer<typeof probed>;

/** A sentence for whoever brought the film. */
export interface RefusedFilm {
  readonly refused: string;
}
const refused = (sentence: string): RefusedFilm => ({ refused: sentence });
export const isRefused = (value: object): value is RefusedFilm => 'refused' in value;

export const tooLong = refused(
  'Looking at the film took far longer than a film of a game takes, so it was given up. Export it anew and try again.',
);

interface Given {
  /** ffprobe's answer, as text. */
  readonly answer: string;
  readonly errors: string;
  /** Of the file's outermost boxes, if it has the form of MP4. */
  readonly boxes: readonly string[];
}

/** What ffprobe could read, or why the film is refused. */
export function readProbed({ answer, errors, boxes }: Given): Probed | RefusedFilm {
  const read = probed.safeParse(parsed(answer));
  if (!read.success || !read.data.format) {
    return boxes.includes('ftyp') && !boxes.includes('moov')
      ? refused(
          'The film is cut off: the part of its file that tells where the pictures are is missing. Bring the whole file.',
        )
      : refused(
          'This is not a film that can be read: MP4, MOV, Matroska, WebM and MPEG transport streams can. Export it as MP4.',
        );
  }
  const video = pictureOf(read.data);
  if (!video) return refused('The file has no moving picture. Bring the film itself.');
  const { width = 0, height = 0 } = video;
  if (width * height > mostPixels || /exceeds specified max pixel count|invalid dimensions/.test(errors)) {
    return refused(
      `Its picture has more than ${mostPixels.toLocaleString('en-US')} pixels (4,096 by 2,176). Export it smaller; 1,280 by 720 is enough to judge a play.`,
    );
  }
  if (width === 0 || height === 0)
    return refused('Its picture cannot be read. Export the film as MP4 with H.264 and try again.');
  return read.data;
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** The film's picture: not the cover of a recording. */
export const pictureOf = ({ streams }: Probed) =>
  streams.find(({ codec_type, disposition }) => codec_type === 'video' && disposition?.attached_pic !== 1);
export const soundOf = ({ streams }: Probed) => streams.find(({ codec_type }) => codec_type === 'audio');

/** Where fewer frames came than the file promises, it is not whole; by so much a promise may be off. */
const mostMissing = (promised: number) => Math.max(2, 0.01 * promised);

/** Facts of a film by what was read of it and of its frames; `form` is for `browserForm` to say. */
export function factsOf(
  read: Probed,
  times: FrameTimes | undefined,
  errors: string,
): Omit<FilmFacts, 'form'> | RefusedFilm {
  if (!times) return refused('The file has no moving picture, only a single one. Bring the film itself.');
  const promised = read.format?.duration ?? 0;
  const cutOff = /partial file|End of file|Truncating packet/i.test(errors);
  const length = times.end - times.first;
  if (promised - length > (cutOff ? 0.1 : mostMissing(promised))) {
    return refused(
      `The film breaks off after ${clockInWords(length)} of ${clockInWords(promised)}: its file is not whole. Bring the whole file.`,
    );
  }
  if (length > longest) return refused('The film is longer than a day. Cut it to the game.');
  const { width = 0, height = 0, codec_name = 'unknown', side_data_list = [] } = pictureOf(read)!;
  const turned = side_data_list.find(({ rotation }) => rotation !== undefined)?.rotation ?? 0;
  const rotated = (((Math.round(turned / 90) * 90) % 360) + 360) % 360;
  const across = rotated % 180 !== 0;
  return {
    seconds: length,
    ...(across ? { width: height, height: width } : { width, height }),
    rate: times.rate,
    variable: times.variable,
    rotated,
    sound: soundOf(read) !== undefined,
    picture: codec_name,
  };
}
