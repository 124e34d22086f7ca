import type { Block } from '../../../letters/document-tree.ts';
import { heading, paragraph, table, text } from '../../../programs/outputs/blocks.ts';
import { dayInWords } from '../../../text/days.ts';
import { capital, moment } from '../../../web/format.ts';
import { rankRange } from '../../candidate-words.ts';
import { linesOf } from '../../committee/basis.ts';
import type { PlaceDecided } from '../../committee/decisions.ts';
import { nameIn, type RecordMaterial } from '../record-material.ts';
import type { OfferMade } from '../stores/record-rows.ts';

/** Whom people chose and why, whom they passed over and why, and what came of the offers. */
export const decisionSection = (material: RecordMaterial): Block[] => [
  heading(2, 'Choices and reasons'),
  ...material.selection.games.flatMap((game) => [
    heading(3, game.name),
    table(
      ['Place', 'Chosen', 'Standing', 'Why', 'By whom, when'],
      material.places
        .filter((place) => place.game.id === game.id)
        .map((place) => choiceLine(material, place)),
    ),
  ]),
  heading(2, 'Passed over'),
  ...passedOver(material),
  heading(2, 'Offers and answers'),
  ...offers(material),
];

function choiceLine(material: RecordMaterial, { game, slot, choice }: PlaceDecided): string[] {
  if (!choice) return [capital(slot), 'nobody', '–', '–', '–'];
  const lines = material.basis ? linesOf(material.basis, game.id, choice.position) : [];
  const line = lines.find(({ officialId }) => officialId === choice.officialId);
  const rule = line?.leftOut ? '; the rules leave them out' : '';
  return [
    capital(slot),
    `${nameIn(material, choice.officialId)}${slot === choice.position ? '' : `, as ${choice.position}`}`,
    `${line?.tier ? `tier ${line.tier}, likely rank ${rankRange(line.rank)}` : 'not ranked'}${rule}`,
    choice.reason === '' ? 'no reason was recorded' : choice.reason,
    `${nameIn(material, choice.chosenBy)}, ${moment(choice.chosenAt, material.timeZone)}`,
  ];
}

function passedOver(material: RecordMaterial): Block[] {
  const { places, timeZone } = material;
  const rows = places.flatMap(({ game, slot, choice, passedOver: over }) =>
    over.map((one) => [
      `${capital(slot)}, ${game.name}`,
      `${nameIn(material, one.officialId)}, rank ${one.place}`,
      `${nameIn(material, choice?.officialId ?? null)}${one.sameTier ? ', the same tier' : ''}`,
      one.recorded?.reason ?? 'no reason was recorded',
      one.recorded
        ? `${nameIn(material, one.recorded.recordedBy)}, ${moment(one.recorded.recordedAt, timeZone)}`
        : '–',
    ]),
  );
  const whom =
    'Whoever is ranked higher in the position than the one chosen, is left out by no rule, and is chosen for no place of this selection.';
  if (rows.length === 0) return [paragraph(text(`Nobody. ${whom}`))];
  return [paragraph(text(whom)), table(['Place', 'Passed over', 'For', 'Why', 'By whom, when'], rows)];
}

function offers(material: RecordMaterial): Block[] {
  const { offers: all, selection, timeZone } = material;
  if (all.length === 0) return [paragraph(text('No offer was made through this program.'))];
  return [
    table(
      ['Place', 'Official', 'Offered', 'Answer'],
      all.map((offer) => [
        `${capital(offer.slot)}, ${selection.games.find(({ id }) => id === offer.gameId)?.name ?? ''}`,
        nameIn(material, offer.officialId),
        `${moment(offer.offeredAt, timeZone)} by ${nameIn(material, offer.offeredBy)}; to answer by ${dayInWords(offer.answerBy)}${
          offer.embargoUntil ? `, kept to themselves until ${moment(offer.embargoUntil, timeZone)}` : ''
        }`,
        answerOf(material, offer),
      ]),
    ),
  ];
}

function answerOf(material: RecordMaterial, offer: OfferMade): string {
  const { answer, answeredAt, reason, recordedBy, recordedNote } = offer;
  if (!answer) return 'no answer';
  const words = answer === 'moved up' ? 'offered another place of the game instead,' : answer;
  const byPhone = recordedBy
    ? `${answer === 'accepted' || answer === 'declined' ? '' : '; accepted before'}, by telephone, as ${nameIn(material, recordedBy)} wrote down${recordedNote === '' ? '' : ` (${recordedNote})`}`
    : '';
  return `${words} ${moment(answeredAt, material.timeZone)}${byPhone}${reason === '' ? '' : `: ${reason}`}`;
}
