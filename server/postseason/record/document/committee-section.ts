import type { Block } from '../../../letters/document-tree.ts';
import { heading, list, paragraph, paragraphs, table, text } from '../../../programs/outputs/blocks.ts';
import { type Ballot, tallyOf } from '../../../selection/ballots.ts';
import { capital, moment } from '../../../web/format.ts';
import { nameIn, type RecordMaterial } from '../record-material.ts';

/** Who sat on the committee, with whom they declared conflicts, and what they held once all was open. */
export const committeeSection = (material: RecordMaterial): Block[] => [
  heading(2, 'Committee'),
  ...members(material),
  heading(2, 'Declared conflicts'),
  ...conflicts(material),
  heading(2, 'Ballots'),
  ...ballots(material),
];

function members({ members: all, timeZone }: RecordMaterial): Block[] {
  if (all.length === 0) return [paragraph(text('Nobody sits on a committee of this selection.'))];
  return [
    table(
      ['Member', 'As', 'Conflicts declared', 'Ballot sealed'],
      all.map(({ name, kind, conflictsDeclaredAt, sealedAt }) => [
        name,
        kind,
        conflictsDeclaredAt ? moment(conflictsDeclaredAt, timeZone) : 'not declared',
        sealedAt ? moment(sealedAt, timeZone) : 'not sealed',
      ]),
    ),
  ];
}

function conflicts(material: RecordMaterial): Block[] {
  if (!material.opened) return [paragraph(text('Shown once the ballots are open.'))];
  if (material.members.length === 0) return [paragraph(text('There was no committee to declare any.'))];
  const declared = material.conflicts.map(({ memberId, officialId, reason }) => [
    nameIn(material, memberId),
    nameIn(material, officialId),
    reason,
  ]);
  const none = material.members
    .filter(({ personId }) => !material.conflicts.some(({ memberId }) => memberId === personId))
    .map(({ name, conflictsDeclaredAt }) =>
      conflictsDeclaredAt ? `${name}: none declared.` : `${name}: did not say whether there are any.`,
    );
  return [
    ...(declared.length === 0
      ? []
      : [
          paragraph(
            text('A member neither reads nor votes on an official with whom a conflict is declared.'),
          ),
          table(['Member', 'Official', 'Conflict'], declared),
        ]),
    ...(none.length === 0 ? [] : [list(none)]),
  ];
}

function ballots(material: RecordMaterial): Block[] {
  const { opened, steps, members: all, selection, timeZone } = material;
  if (!opened)
    return [
      paragraph(
        text(
          'The ballots are not open: nothing of them is in this draft, nor does the program show it to anybody.',
        ),
      ),
    ];
  const by = `${nameIn(material, steps.openedBy)} ${moment(steps.openedAt, timeZone)}`;
  if (steps.votingAt === null)
    return [
      paragraph(text(`Decided without a committee, as begun by ${by}. Why:`)),
      ...paragraphs(steps.openedBecause),
    ];
  const unsealed = all.filter(({ sealedAt }) => !sealedAt).map(({ name }) => name);
  const how =
    unsealed.length === 0
      ? 'All members had sealed theirs.'
      : `Opened before ${unsealed.join(', ')} had sealed; what they wrote is not counted and was shown to nobody. Why:`;
  const games = selection.games.flatMap((game) =>
    [
      ...new Set(material.ballots.filter(({ gameId }) => gameId === game.id).map(({ position }) => position)),
    ].flatMap((position) =>
      ofPosition(
        material,
        `${capital(position)}, ${game.name}`,
        material.ballots.filter((one) => one.gameId === game.id && one.position === position),
      ),
    ),
  );
  return [
    paragraph(
      text(
        `Voting began ${moment(steps.votingAt, timeZone)} by ${nameIn(material, steps.votingBy)}; the ballots were opened together by ${by}. ${how}`,
      ),
    ),
    ...(unsealed.length === 0 ? [] : paragraphs(steps.openedBecause)),
    ...(games.length === 0 ? [paragraph(text('No vote and no note was sealed.'))] : games),
  ];
}

function ofPosition(material: RecordMaterial, title: string, own: readonly Ballot[]): Block[] {
  return [
    heading(3, title),
    table(
      ['Official', 'For', 'Against', 'Abstain', 'In conflict'],
      tallyOf(own, material.conflicts).map((tally) => [
        nameIn(material, tally.officialId),
        ...[tally.for, tally.against, tally.abstain, tally.conflicts],
      ]),
      ['left', 'right', 'right', 'right', 'right'],
    ),
    table(
      ['On', 'By', 'Vote', 'Note'],
      own.map(({ officialId, memberId, vote, note }) => [
        nameIn(material, officialId),
        nameIn(material, memberId),
        vote ?? 'no vote',
        note === '' ? '–' : note,
      ]),
    ),
  ];
}
