import { dayInWords } from '../../text/days.ts';
import { capital } from '../../web/format.ts';
import { missingReasons } from '../committee/decisions.ts';
import { nameIn, type RecordMaterial } from './record-material.ts';

/** What is not settled of a selection, one sentence each: closing with any of it needs a reason. */
export function openPoints(material: RecordMaterial): string[] {
  const { places, offers, selection } = material;
  const unanswered = offers.filter(({ answer }) => answer === null);
  const gameName = (id: string) => selection.games.find((game) => game.id === id)?.name ?? '';
  return [
    ...unanswered.map(
      (offer) =>
        `${capital(offer.slot)}, ${gameName(offer.gameId)}: ${nameIn(material, offer.officialId)} has not answered the offer, to be answered by ${dayInWords(offer.answerBy)}.`,
    ),
    ...places.flatMap(({ game, slot, choice }) => {
      const where = `${capital(slot)}, ${game.name}`;
      if (!choice) return [`${where}: nobody is chosen.`];
      // Where nothing was offered through the program at all, the conference asks its officials elsewhere.
      if (offers.length === 0) return [];
      const own = offers.filter(
        (offer) => offer.gameId === game.id && offer.slot === slot && offer.officialId === choice.officialId,
      );
      if (own.some(({ answer }) => answer === 'accepted' || answer === null)) return [];
      const name = nameIn(material, choice.officialId);
      const last = own.at(-1);
      return [
        last
          ? `${where}: ${name} is chosen, but the offer was ${last.answer}.`
          : `${where}: ${name} is chosen, but was offered nothing.`,
      ];
    }),
    ...missingReasons(places).map(({ words }) => `${capital(words)} without a reason.`),
  ];
}
