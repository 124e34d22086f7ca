import type { ExamplesByOperation } from './example.ts';
import { ids } from './ids.ts';

const rules = {
  ...{ minimumGames: 3, minimumYears: 5, fitness: true, rulesTest: 85, standing: true, availability: true },
  ...{ ties: true, recentWeeks: 3, openInquiries: true, mostLately: null, mostGamesEach: 1 },
  ...{ mostOfOneCrew: 3, notKnown: 'leave out' },
};
const game = {
  ...{ name: 'First semifinal', playedOn: '2026-12-05', kickoff: '13:00' },
  ...{ homeTeamId: null, homeName: 'Winner of the west', visitorTeamId: null, visitorName: '' },
  ...{ venueId: null, place: 'Rivermouth', latitude: 41.62, longitude: -93.98 },
  ...{ crewSize: 8, alternates: 2, wholeCrew: false },
};

/** Officials for games after the season. */
export const postseason: ExamplesByOperation = {
  postSeasonsSelections: {
    sent: { 'A title, days later': { title: 'Semifinals', answerBy: null, embargoUntil: null } },
  },
  putSelectionsBySelectionId: {
    sent: {
      'Rules and weights': {
        ...{ title: 'Semifinals', answerBy: '2026-11-28', embargoUntil: '2026-11-30T18:00', revision: 1 },
        ...{ rules, weights: { chance: 100, tier: 40, rotation: 10, travel: 2 } },
      },
    },
  },
  postSelectionsGames: { sent: { 'A game at no venue of the conference': game } },
  putSelectionsGamesBySelectionGameId: { sent: { 'One crew kept whole': { ...game, wholeCrew: true } } },
  putSelectionsGamesPlacesBySlot: {
    sent: {
      'With its reason': {
        ...{ officialId: ids.umpire, position: 'umpire', reason: 'Steady in close games all season.' },
      },
    },
  },
  postSelectionsClose: {
    sent: {
      'With something left open': {
        ...{
          seen: '0f3c9a5be1d24786a0c1b2d3e4f50617',
          reason: 'The conference fills the last place itself.',
        },
      },
    },
  },
  postSelectionsOffers: {
    sent: {
      'Every chosen place that was not offered yet': {
        ...{ place: null, answerBy: '2026-11-28', embargoUntil: '2026-11-30T18:00' },
      },
      'One place, by the selection’s days': { place: { gameId: ids.selectionGame, slot: 'umpire' } },
    },
  },
  postSelectionsOffersWithdrawal: { sent: { 'With its reason': { reason: 'Your home team plays in it.' } } },
  putSelectionsOffersAnswerBy: { sent: { 'A later day': { answerBy: '2026-12-01' } } },
  postSelectionsOffersRecordedAnswer: {
    sent: {
      'A call that the coordinator took': {
        ...{ answer: 'accepted', note: 'Taken by the coordinator, November 27, 7 p.m.', reason: 'Gladly.' },
      },
    },
  },
  postSelectionsOffersMoveUp: {
    sent: {
      'The first alternate becomes umpire': {
        ...{ gameId: ids.selectionGame, slot: 'umpire', alternate: 'alternate 1', answerBy: '2026-12-02' },
        reason: 'Named by the committee for this.',
      },
    },
  },
  postSelectionsCommitteeMembers: {
    sent: { 'An observer as an invited reader': { personId: ids.observer } },
  },
  postSelectionsCommitteeVoting: {
    sent: {
      'Sealed voting': { withCommittee: true },
      'Without a committee': { withCommittee: false, reason: 'Two coordinators decide together.' },
    },
  },
  postSelectionsCommitteeOpening: {
    sent: { 'Before all are sealed': { reason: 'The third member is away until Monday.' } },
  },
  putSelectionsGamesPlacesReasons: {
    sent: {
      'The choice, and one passed over': {
        ...{ seen: '0f3c9a5be1d24786', reason: 'Steady in close games.' },
        over: [{ officialId: ids.umpire, reason: 'Worked the final last year.' }],
      },
    },
  },
  putMyCommitteeSeatsConflicts: {
    sent: {
      'With one official': { conflicts: [{ officialId: ids.umpire, reason: 'A neighbor.' }] },
      'With nobody': { conflicts: [] },
    },
  },
  putMyCommitteeSeatsGamesPositionsByPosition: {
    sent: {
      'A vote with a note, and one without': {
        votes: [
          { officialId: ids.umpire, vote: 'for', note: 'Calm with both coaches.' },
          { officialId: ids.referee, vote: 'abstain' },
        ],
      },
    },
  },
  postMyPostseasonOffersAnswer: {
    sent: {
      'It can be worked': { answer: 'accepted' },
      'It cannot': { answer: 'declined', reason: 'A wedding that day.' },
    },
  },
  putSeasonsOfficialsFacts: {
    sent: {
      'All that is asked': {
        ...{ yearsOfService: 12, fitnessPassed: true, fitnessUntil: '2027-06-30', rulesTestScore: 92 },
        ...{ goodStanding: true, standingReason: '', available: true, daysAway: ['2026-12-12'] },
        ...{ postseasonsLately: 1, ties: [], revision: 0 },
      },
    },
  },
};
