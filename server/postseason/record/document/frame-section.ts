import { positionsOf } from '../../../football/crews.ts';
import type { CrewSize } from '../../../football/positions.ts';
import type { Block } from '../../../letters/document-tree.ts';
import { bold, heading, list, paragraph, table, text } from '../../../programs/outputs/blocks.ts';
import { tierRule } from '../../../selection/tiers.ts';
import { dayInWords } from '../../../text/days.ts';
import { moment } from '../../../web/format.ts';
import { placeOf, teamsOf } from '../../pages/selection-view.ts';
import type { RecordMaterial } from '../record-material.ts';
import { rulesInWords, weightsInWords } from './rules-in-words.ts';

/** The games, what is asked of officials, and what the figures rest on. */
export const frameSection = (material: RecordMaterial): Block[] => [
  heading(2, 'Games'),
  ...games(material),
  heading(2, 'Rules'),
  paragraph(text('What this selection asked of officials. The conference’s policy comes first.')),
  list(rulesInWords(material.selection.rules)),
  heading(2, 'Weights of the proposal'),
  paragraph(text('In points; the program proposes what fills every place it can at the fewest.')),
  list(weightsInWords(material.selection.weights)),
  heading(2, 'What the figures rest on'),
  ...method(material),
];

function games({ selection, names }: RecordMaterial): Block[] {
  if (selection.games.length === 0) return [paragraph(text('There is no game in this selection.'))];
  return [
    table(
      ['Game', 'Day', 'Teams', 'Place', 'To fill'],
      selection.games.map((game) => [
        game.name,
        `${dayInWords(game.playedOn)}${game.kickoff === '' ? '' : `, ${game.kickoff}`}`,
        teamsOf(game, names),
        placeOf(game, names),
        [
          `${positionsOf(game.crewSize as CrewSize).length} positions`,
          ...(game.alternates > 0
            ? [`${game.alternates} ${game.alternates === 1 ? 'alternate' : 'alternates'}`]
            : []),
          ...(game.wholeCrew ? ['one crew kept whole'] : []),
        ].join(', '),
      ]),
    ),
  ];
}

function method({ basis, proposal, timeZone }: RecordMaterial): Block[] {
  if (!basis && !proposal)
    return [
      paragraph(
        text(
          'No candidates were kept for this selection and the program made no proposal: there is nothing that its decisions could be held against.',
        ),
      ),
    ];
  const kept = basis ?? proposal!.proposal;
  return [
    paragraph(
      bold('Kept: '),
      text(
        basis
          ? `the candidates as they stood ${moment(basis.takenAt, timeZone)}, when preparing ended; reports released later change nothing of them.`
          : `no candidates were kept; what follows is of the program’s proposal of ${moment(proposal!.proposedAt, timeZone)}.`,
      ),
    ),
    paragraph(
      bold('Data: '),
      text(
        `released reports of the season${basis?.week ? ` through week ${basis.week}` : ''}, input revision ${kept.inputRevision}.`,
      ),
    ),
    paragraph(
      bold('Models: '),
      text(
        `the season is graded by ${kept.model}; the chance of one of the top ${kept.top} places is shown by ${kept.otherModel} as well. Grades are adjusted for observers and games, with 90 percent intervals.`,
      ),
    ),
    paragraph(bold('Tiers: '), text(tierRule)),
  ];
}
