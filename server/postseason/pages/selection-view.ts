import { positionsOf } from '../../football/crews.ts';
import type { CrewSize } from '../../football/positions.ts';
import { slotsOf } from '../../selection/slots.ts';
import type { KeptProposal } from '../proposing.ts';
import type { Selection, SelectionGame } from '../selection.ts';
import type { Names } from '../stores/names-store.ts';

/** `Home at Visitor's`, as far as the teams are known. */
export const teamsOf = (game: SelectionGame, { teams }: Pick<Names, 'teams'>): string => {
  const home = game.homeTeamId ? teams.get(game.homeTeamId) : game.homeName;
  const visitor = game.visitorTeamId ? teams.get(game.visitorTeamId) : game.visitorName;
  if (!home && !visitor) return 'teams not known yet';
  return `${visitor || 'a team not known yet'} at ${home || 'a team not known yet'}`;
};

export const placeOf = (game: SelectionGame, { venues }: Pick<Names, 'venues'>): string =>
  (game.venueId ? venues.get(game.venueId) : game.place) || 'place not known yet';

/** The games of a selection with every place: who is chosen, beside it who was proposed, or why nobody was. */
export function gamesView(selection: Selection, proposal: KeptProposal | null, names: Names) {
  return selection.games.map((game) => {
    const positions = positionsOf(game.crewSize as CrewSize);
    const places = slotsOf({ ...game, positions }).map((slot) => {
      const here = (one: { gameId: string; slot: string }) => one.gameId === game.id && one.slot === slot;
      const choice = selection.choices.find(here);
      const proposed = proposal?.choices.find(here);
      const unfilled = proposal?.unfilled.find(here);
      // Who was chosen before the program was asked: it left that as it was.
      const before = proposal?.fixed.find(here);
      return {
        slot,
        position:
          choice?.position ?? proposed?.position ?? (slot.startsWith('alternate') ? positions[0] : slot),
        isAlternate: slot.startsWith('alternate'),
        chosen: choice && { ...choice, name: names.people.get(choice.officialId) ?? '' },
        proposed: proposed && {
          ...proposed,
          name: names.people.get(proposed.officialId) ?? '',
          isChosen: proposed.officialId === choice?.officialId && proposed.position === choice.position,
        },
        chosenBefore: before && {
          name: names.people.get(before.officialId) ?? '',
          isChosen: before.officialId === choice?.officialId,
        },
        why: unfilled?.why,
      };
    });
    return {
      ...game,
      teams: teamsOf(game, names),
      where: placeOf(game, names),
      places,
      chosen: places.filter(({ chosen }) => chosen).length,
      open: places.filter(({ chosen }) => !chosen).length,
    };
  });
}
