import type { Block } from '../../../letters/document-tree.ts';
import { heading, paragraph, table, text } from '../../../programs/outputs/blocks.ts';
import { capital, moment } from '../../../web/format.ts';
import { nameIn, type RecordMaterial } from '../record-material.ts';
import type { TrailLine } from '../stores/record-rows.ts';

/** Who did what, when, as the conference's audit trail has it. */
export const trailSection = (material: RecordMaterial): Block[] => [
  heading(2, 'Steps, as the audit trail holds them'),
  paragraph(
    text(
      'Each entry has its number in the conference’s audit trail, where it can be looked up and whose entries hang together by their hashes. Closing is an entry of its own, after these, with the hash of this record.',
    ),
  ),
  material.trail.length === 0
    ? paragraph(text('The trail holds nothing of this selection.'))
    : table(
        ['Entry', 'When', 'Who', 'What'],
        material.trail.map((entry) => [
          entry.number,
          moment(entry.at, material.timeZone),
          entry.actor,
          [capital(entry.action.replace(/^selection: /, '')), whatIn(material, entry), entry.reason ?? '']
            .filter((part) => part !== '')
            .join(': '),
        ]),
        ['right', 'left', 'left', 'left'],
      ),
];

/** What an entry was about, as far as it names a place, an official or a member. Never what a ballot holds. */
function whatIn(material: RecordMaterial, { before, after }: TrailLine): string {
  const was = objectOf(before);
  const is = objectOf(after);
  const one = is ?? was;
  if (!one) return '';
  if (Array.isArray(one.choices)) return `${one.choices.length} places`;
  const { games } = material.selection;
  const game = games.find(({ id }) => id === one.gameId)?.name;
  const who = [one.officialId, one.personId].find((id) => typeof id === 'string');
  const whoBefore = is && was && typeof was.officialId === 'string' ? was.officialId : undefined;
  const parts = [
    typeof one.slot === 'string' ? one.slot : typeof one.position === 'string' ? one.position : '',
    game ?? (typeof one.name === 'string' ? one.name : ''),
    typeof who === 'string' ? nameIn(material, who) : '',
  ].filter((part) => part !== '');
  const instead = whoBefore && whoBefore !== who ? ` in place of ${nameIn(material, whoBefore)}` : '';
  return `${parts.join(', ')}${instead}`;
}

const objectOf = (value: unknown): Record<string, unknown> | null =>
  typeof value === 'object' && value !== null && !Array.isArray(value)
    ? (value as Record<string, unknown>)
    : null;
