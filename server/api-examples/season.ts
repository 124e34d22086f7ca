import { type ExamplesByOperation, setAndAnswered } from './example.ts';
import { ids } from './ids.ts';

const whoIsRanked = { minimumGames: 4, minimumOpportunities: 300, places: 8 };
const point = {
  personId: ids.umpire,
  position: 'umpire',
  dutyKey: 'count-the-offense',
};
const conversation = { happenedOn: '2026-10-06', text: 'Talked through three plays of the film.' };

/** The season’s settings, standings, patterns, development points and observers. */
export const season: ExamplesByOperation = {
  getSeasons: {
    answered: {
      'One season': [
        {
          id: ids.season,
          name: '2026',
          crewSize: 8,
          minimumGames: 4,
          minimumOpportunities: 300,
          postseasonPlaces: 8,
        },
      ],
    },
  },
  getSeasonsGames: {
    answered: {
      'One game that was played': [
        {
          id: ids.game,
          key: 'W01-HAR-NOR',
          week: 1,
          kickoff: '2026-09-05T17:00:00.000Z',
          home: { id: ids.home, name: 'Northquill Nightjars' },
          visitor: { id: ids.visitor, name: 'Harrowfall Hayforks' },
          venue: {
            id: ids.venue,
            name: 'Dusk Field',
            place: 'Northquill',
            latitude: 46.35,
            longitude: -94.2,
            timeZone: 'America/Chicago',
          },
          crew: { id: ids.crew, name: 'Fir' },
          finalScore: { home: 17, visitor: 30 },
          plays: 171,
        },
      ],
    },
  },
  getSeasonsStandings: {
    answered: {
      'One official, early in a season': {
        by: 'whole',
        model: {
          used: 'counts',
          chosen: true,
          why: 'It predicted games left out of the fit better.',
          heldOut: { linear: 4.21, counts: 4.07 },
        },
        inputRevision: 118,
        settings: whoIsRanked,
        week: 5,
        reports: 24,
        lines: [
          {
            personId: ids.umpire,
            position: 'umpire',
            raw: 93.42,
            games: 5,
            opportunities: 1210,
            misses: 61,
            adjusted: {
              grade: 94.1,
              standardError: 0.88,
              low: 92.65,
              high: 95.55,
              reliability: 0.58,
              parts: { observers: 0.81, games: -0.09, caution: -0.04 },
            },
            rank: { place: 2, tied: false, median: 3, low: 1, high: 6, topProbability: 0.21 },
            placeChance: 0.97,
            unrankedReason: null,
            group: 0,
            before: { place: 3, adjusted: 93.7 },
          },
        ],
        spread: {
          official: 1.31,
          observer: 1.12,
          game: 0.4,
          officialInGame: 1.66,
          observerInPosition: 0.3,
          residual: 1.02,
        },
        groups: [{ officials: [ids.umpire], observers: [ids.observer] }],
        notes: [],
        clips: null,
        lastSeason: null,
      },
    },
  },
  putSeasonsStandingsSettings: setAndAnswered({ 'Eight places, from four games on': whoIsRanked }),
  putSeasonsStandingsModel: setAndAnswered({
    'Whichever predicts its games better': { model: 'by its games' },
  }),
  putSeasonsStandingsCalibration: setAndAnswered({
    'Marks of clips taken in': { calibration: 'taken in' },
  }),
  putSeasonsStandingsLastSeason: setAndAnswered({
    'By this season alone': { lastSeason: 'left out' },
  }),
  putSeasonsPatternSettings: setAndAnswered({
    'One false find in ten': { falseDiscoveryRate: 0.1, minimumOpportunities: 12, minimumGames: 3 },
  }),
  postSeasonsDevelopmentPoints: {
    sent: {
      'A repeat miss': { ...point, text: 'Shows the count to nobody.' },
      'Only where it shows': { ...point, situationCut: 'late in halves' },
    },
  },
  postDevelopmentPointsSteps: {
    sent: {
      'A conversation that the official sees': { kind: 'conversation', ...conversation, shared: true },
    },
  },
  postDevelopmentPointsClose: {
    sent: { 'Done with': { happenedOn: '2026-11-03', text: 'Five games without it.' } },
  },
  postDevelopmentPointsReopen: {
    sent: { 'It came back': { happenedOn: '2026-11-17', text: 'Twice more in week 11.' } },
  },
  postObserverAssignments: {
    sent: {
      'Offer a game': { offer: [{ gameId: ids.game, observerId: ids.observer, mode: 'in person' }] },
      'Another observer, against a rule': {
        withdraw: [{ gameId: ids.game, observerId: ids.observer }],
        offer: [{ gameId: ids.game, observerId: ids.coordinator, mode: 'film' }],
        reason: 'Nobody else is free.',
      },
    },
  },
  postMyAssignmentsAnswer: {
    sent: { Accept: { answer: 'accepted' }, Decline: { answer: 'declined', reason: 'A wedding.' } },
  },
};
