import { type Cue, placed } from './cue.ts';
import { frameRate } from './frames.ts';

const rate = frameRate.frames / frameRate.seconds;
const time = (frames: number) => ({ OTIO_SCHEMA: 'RationalTime.1', rate, value: frames });
const range = (start: number, frames: number) => ({
  OTIO_SCHEMA: 'TimeRange.1',
  start_time: time(start),
  duration: time(frames),
});
const item = { metadata: {}, effects: [], markers: [], enabled: true };

/**
 * Cues as an OpenTimelineIO document (its serialized schema: Timeline.1, Stack.1, Track.1, Clip.2, Gap.1 for cards), a clip for each in one
 * picture track. A play without film refers to missing media and keeps its length, so that an editor can put film in.
 *
 * @throws RangeError as `placed`.
 */
export function openTimeline(title: string, cues: readonly Cue[]): string {
  const clips = placed(cues).map(({ title: name, start, frames, film, card }) => ({
    OTIO_SCHEMA: card ? 'Gap.1' : 'Clip.2',
    name,
    ...item,
    metadata: { shown_from: start },
    source_range: range(film?.firstFrame ?? 0, frames),
    ...(card
      ? {}
      : {
          active_media_reference_key: 'DEFAULT_MEDIA',
          media_references: { DEFAULT_MEDIA: media(film) },
        }),
  }));
  const track = {
    OTIO_SCHEMA: 'Track.1',
    name: 'Pictures',
    kind: 'Video',
    ...item,
    source_range: null,
    children: clips,
  };
  const tracks = { OTIO_SCHEMA: 'Stack.1', name: 'tracks', ...item, source_range: null, children: [track] };
  return `${JSON.stringify({ OTIO_SCHEMA: 'Timeline.1', name: title, metadata: {}, global_start_time: time(0), tracks }, null, 2)}\n`;
}

function media(film: Cue['film']) {
  const reference = { name: '', metadata: {}, available_range: null, available_image_bounds: null };
  return film
    ? { OTIO_SCHEMA: 'ExternalReference.1', ...reference, target_url: film.url }
    : { OTIO_SCHEMA: 'MissingReference.1', ...reference };
}
