import { describe, expect, test } from 'vitest';
import type { Cue } from '../../server/timeline/cue.ts';
import { editDecisionList } from '../../server/timeline/edit-decision-list.ts';
import { openTimeline } from '../../server/timeline/open-timeline.ts';

const cues: Cue[] = [
  {
    title: 'Goal line, ruling',
    frames: 1800,
    film: { url: 'films/one.mp4', firstFrame: 17_982 },
    narration: '',
  },
  { title: 'Séance\nof the wing', frames: 90, film: null, narration: 'Hold.' },
  { title: 'Kick', frames: 150, film: { url: 'films/two.mp4', firstFrame: 0 }, narration: '' },
];

describe('an edit decision list', () => {
  test('has an event a play with source and reel in drop-frame code, and black where film is missing', () => {
    // 1800 frames into the reel are 00:01:00;02 (SMPTE ST 12-1).
    expect(editDecisionList('Wings, August', cues).split('\r\n')).toEqual([
      'TITLE: Wings, August',
      'FCM: DROP FRAME',
      '',
      '001  AX       V     C        00:10:00;00 00:11:00;02 00:00:00;00 00:01:00;02',
      '* FROM CLIP NAME: Goal line, ruling',
      '* SOURCE FILE: films/one.mp4',
      '002  BL       V     C        00:00:00;00 00:00:03;00 00:01:00;02 00:01:03;02',
      '* FROM CLIP NAME: Seance of the wing',
      '* FILM MISSING',
      '003  AX       V     C        00:00:00;00 00:00:05;00 00:01:03;02 00:01:08;02',
      '* FROM CLIP NAME: Kick',
      '* SOURCE FILE: films/two.mp4',
      '',
    ]);
  });

  test('leaves black where a reel has cards, and says so', () => {
    const cards = { title: 'Opening', frames: 150, film: null, narration: '', card: true };
    expect(editDecisionList('Wings', [cards]).split('\r\n').slice(3, 6)).toEqual([
      '001  BL       V     C        00:00:00;00 00:00:05;00 00:00:00;00 00:00:05;00',
      '* FROM CLIP NAME: Opening',
      '* CARDS OF THE REEL',
    ]);
  });

  test('refuses more events than its three digits count', () => {
    expect(() => editDecisionList('Long', Array(1000).fill(cues[0]))).toThrow('holds 999 events, not 1000');
  });
});

/**
 * Fields of each object, from OpenTimelineIO's own "Serialized Data (Fields Only)"
 * (docs/tutorials/otio-serialized-schema-only-fields.md), and `children`, which its sample files have.
 */
const fields: Record<string, string[]> = {
  'Timeline.1': ['global_start_time', 'metadata', 'name', 'tracks'],
  'Stack.1': ['children', 'effects', 'enabled', 'markers', 'metadata', 'name', 'source_range'],
  'Track.1': ['children', 'effects', 'enabled', 'kind', 'markers', 'metadata', 'name', 'source_range'],
  'Clip.2': [
    'active_media_reference_key',
    'effects',
    'enabled',
    'markers',
    'media_references',
    'metadata',
    'name',
    'source_range',
  ],
  'Gap.1': ['effects', 'enabled', 'markers', 'metadata', 'name', 'source_range'],
  'ExternalReference.1': ['available_image_bounds', 'available_range', 'metadata', 'name', 'target_url'],
  'MissingReference.1': ['available_image_bounds', 'available_range', 'metadata', 'name'],
  'TimeRange.1': ['duration', 'start_time'],
  'RationalTime.1': ['rate', 'value'],
};

describe('an OpenTimelineIO document', () => {
  test('has in each object the fields of its schema, all of them and no other', () => {
    const found = new Set<string>();
    const check = (value: unknown): void => {
      if (Array.isArray(value)) for (const one of value) check(one);
      if (value === null || typeof value !== 'object' || Array.isArray(value)) return;
      const { OTIO_SCHEMA: schema, ...own } = value as Record<string, unknown>;
      if (typeof schema === 'string') {
        expect(Object.keys(own).sort(), schema).toEqual(fields[schema]);
        found.add(schema);
      }
      for (const one of Object.values(own)) check(one);
    };
    const cards = { title: 'Opening', frames: 150, film: null, narration: '', card: true };
    check(JSON.parse(openTimeline('Wings, August', [cards, ...cues])));
    expect([...found].sort()).toEqual(Object.keys(fields).sort());
  });

  test('shows each play for its frames, one after the other, at 30000/1001', () => {
    const { tracks } = JSON.parse(openTimeline('Wings, August', cues));
    const clips = tracks.children[0].children;
    expect(
      clips.map(({ name, source_range: { start_time, duration } }: never) => [name, start_time, duration]),
    ).toEqual(
      cues.map(({ title, frames, film }) => [
        title,
        { OTIO_SCHEMA: 'RationalTime.1', rate: 30000 / 1001, value: film?.firstFrame ?? 0 },
        { OTIO_SCHEMA: 'RationalTime.1', rate: 30000 / 1001, value: frames },
      ]),
    );
    expect(clips[0].media_references.DEFAULT_MEDIA.target_url).toBe('films/one.mp4');
  });
});
