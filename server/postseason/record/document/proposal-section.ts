import type { Block } from '../../../letters/document-tree.ts';
import { heading, list, paragraph, table, text } from '../../../programs/outputs/blocks.ts';
import type { Slot } from '../../../selection/slots.ts';
import { capital, moment, number } from '../../../web/format.ts';
import { nameIn, type RecordMaterial } from '../record-material.ts';
import { weightsInWords } from './rules-in-words.ts';

/** What the program proposed last, its cost by what it is for, and what it left open. */
export function proposalSection(material: RecordMaterial): Block[] {
  const { proposal: kept, selection, timeZone } = material;
  const title = heading(2, 'What the program proposed');
  if (!kept) return [title, paragraph(text('The program was asked for no proposal.'))];
  const { proposal, proposedAt, proposedBy } = kept;
  const placeWords = ({ gameId, slot }: { gameId: string; slot: Slot }) =>
    `${capital(slot)}, ${selection.games.find(({ id }) => id === gameId)?.name ?? 'a game taken out'}`;
  const same = JSON.stringify(sorted(proposal.weights)) === JSON.stringify(sorted(selection.weights));
  return [
    title,
    paragraph(
      text(
        `Made ${moment(proposedAt, timeZone)}, asked for by ${nameIn(material, proposedBy)}, on input revision ${proposal.inputRevision}: ${number(proposal.total, 1)} points in all. ${
          proposal.best
            ? 'No proposal under its rules and weights fills more positions, or as many with fewer points in them; alternates are the best that these positions leave.'
            : 'Time ran out before it was proven that nothing better is possible.'
        } Nobody is chosen by a proposal.`,
      ),
    ),
    ...(same
      ? [paragraph(text('Its weights are those above.'))]
      : [
          paragraph(text('Its weights, which were changed afterwards:')),
          list(weightsInWords(proposal.weights)),
        ]),
    ...(proposal.choices.length === 0
      ? [paragraph(text('It proposed nobody.'))]
      : [
          table(
            ['Place', 'Proposed', 'Tier', 'Chance', 'Tier', 'Rotation', 'Travel', 'Points'],
            proposal.choices.map((one) => [
              placeWords(one),
              nameIn(material, one.officialId),
              one.tier ?? '–',
              ...[one.cost.chance, one.cost.tier, one.cost.rotation, one.cost.travel, one.cost.total].map(
                (points) => number(points, 1),
              ),
            ]),
            ['left', 'left', 'right', 'right', 'right', 'right', 'right', 'right'],
          ),
        ]),
    ...(proposal.fixed.length === 0
      ? []
      : [
          paragraph(text('Chosen by people before, and left as it was:')),
          list(proposal.fixed.map((one) => `${placeWords(one)}: ${nameIn(material, one.officialId)}`)),
        ]),
    ...(proposal.unfilled.length === 0
      ? []
      : [
          paragraph(text('Places for which it found nobody:')),
          list(proposal.unfilled.map((one) => `${placeWords(one)}: ${one.why}`)),
        ]),
  ];
}

const sorted = (values: object) => Object.entries(values).sort(([a], [b]) => (a < b ? -1 : 1));
