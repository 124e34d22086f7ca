import type { Code } from '../football/codes.ts';
import type { StepAnswers } from '../schedule/season-steps.ts';

/** All that the list of what is still to do is worked out from. */
export interface SetupFacts {
  readonly conference: {
    readonly name: string;
    readonly timeZone: string;
    readonly code: Code;
    readonly crewSize: number;
    /** The coordinator looked through these and kept them. */
    readonly confirmed: boolean;
    readonly replyDays: number;
    readonly reportDays: number;
  };
  /** The season that is set up; null while there is none. */
  readonly season: {
    readonly id: string;
    readonly name: string;
    readonly crewSize: number;
    readonly weeks: number;
    readonly minimumGames: number;
    readonly minimumOpportunities: number;
    readonly postseasonPlaces: number;
    readonly answers: StepAnswers;
  } | null;
  readonly rubric: {
    readonly duties: number;
    /** What it lacks for the season's crew size, in a sentence. */
    readonly lacks: string | undefined;
  } | null;
  readonly venues: number;
  readonly teams: number;
  readonly officials: number;
  readonly observers: number;
  readonly crews: { readonly whole: number; readonly short: readonly string[] };
  readonly games: { readonly all: number; readonly weeks: number; readonly withoutCrew: number };
  /** Active officials and observers: who has a password, who a link that still works, who neither. */
  readonly invitations: { readonly come: number; readonly invited: number; readonly missing: number };
}

export const stepKeys = [
  'conference',
  'season',
  'rubric',
  'places',
  'staff',
  'crews',
  'schedule',
  'invitations',
  'settings',
] as const;
type StepKey = (typeof stepKeys)[number];

/** waits: for an earlier step, without which its page has nothing to show. */
export type StepState = 'done' | 'in part' | 'to do' | 'waits';

export interface SetupStep {
  readonly key: StepKey;
  readonly title: string;
  readonly state: StepState;
  /** What is there, or what to do, in a sentence or two. */
  readonly says: string;
  /** Where it is done: the page first, then other ways. */
  readonly links: readonly { readonly label: string; readonly href: string }[];
  /** A season can do without it. */
  readonly mayLeaveOut: boolean;
  readonly leftOut: boolean;
}

/** The steps in the order in which each finds what it needs. */
export function setupSteps(facts: SetupFacts): SetupStep[] {
  const { season } = facts;
  const made = [
    conferenceStep(facts),
    seasonStep(facts),
    rubricStep(facts),
    placesStep(facts),
    staffStep(facts),
    crewsStep(facts),
    scheduleStep(facts),
    invitationsStep(facts),
    settingsStep(facts),
  ];
  return made.map((step) => {
    const answer = step.mayLeaveOut ? season?.answers.get(step.key) : undefined;
    const leftOut = answer === 'left out';
    const answered: Partial<SetupStep> =
      answer === undefined || step.state === 'done'
        ? {}
        : { state: 'done', says: leftOut ? 'Left out for this season.' : step.says };
    const mayLeaveOut = step.mayLeaveOut === true && step.state !== 'done';
    return { ...step, mayLeaveOut, leftOut, ...answered };
  });
}

export const isSetUp = (steps: readonly SetupStep[]): boolean => steps.every(({ state }) => state === 'done');

/** The first step that can be worked on now; undefined when all are done. */
export const nextStep = (steps: readonly SetupStep[]): SetupStep | undefined =>
  steps.find(({ state }) => state === 'to do' || state === 'in part');

type Made = Omit<SetupStep, 'mayLeaveOut' | 'leftOut' | 'key'> &
  ({ key: 'crews' | 'invitations'; mayLeaveOut: true } | { key: StepKey; mayLeaveOut?: undefined });

const importing = (label: string) => ({ label, href: '/import' });

function conferenceStep({ conference }: SetupFacts): Made {
  const is = `${conference.name}, ${conference.timeZone}, ${conference.code} rules, crews of ${conference.crewSize}.`;
  return {
    key: 'conference',
    title: 'Conference',
    state: conference.confirmed ? 'done' : 'to do',
    says: conference.confirmed ? is : `It stands as: ${is} Look through it and keep it.`,
    links: [{ label: conference.confirmed ? 'Change' : 'Look through', href: '/setup/conference' }],
  };
}

function seasonStep({ season, games }: SetupFacts): Made {
  if (season === null) {
    return {
      key: 'season',
      title: 'Season',
      state: 'to do',
      says: 'Give it a name and its weeks; games, crews and the rubric belong to a season.',
      links: [{ label: 'Open the season', href: '/seasons/new' }, importing('Import files')],
    };
  }
  return {
    key: 'season',
    title: 'Season',
    // A schedule that was imported says by itself which weeks there are.
    state: season.weeks > 0 || games.all > 0 ? 'done' : 'in part',
    says:
      season.weeks > 0
        ? `${season.name}, ${counted(season.weeks, 'week')}, crews of ${season.crewSize}.`
        : `${season.name}, crews of ${season.crewSize}; its weeks have no dates yet.`,
    links: [
      season.weeks > 0
        ? { label: 'Open', href: '/seasons' }
        : { label: 'Give the weeks', href: `/seasons/${season.id}/weeks` },
    ],
  };
}

function rubricStep({ season, rubric }: SetupFacts): Made {
  const step = { key: 'rubric', title: 'Rubric' } as const;
  if (season === null) return waitsForSeason(step);
  if (rubric === null) {
    return {
      ...step,
      state: 'to do',
      says: 'What is expected of each position. Begin with the starting rubric, or an earlier season’s; without one no report can be filed.',
      links: [{ label: 'Begin the rubric', href: `/seasons/${season.id}/rubric/start` }],
    };
  }
  const confirmed = season.answers.get('rubric') === 'confirmed' && rubric.lacks === undefined;
  return {
    ...step,
    state: confirmed ? 'done' : 'in part',
    says:
      rubric.lacks ??
      `${counted(rubric.duties, 'duty', 'duties')}. ${confirmed ? 'Looked through.' : 'Look through it and confirm it.'}`,
    links: [{ label: confirmed ? 'Open' : 'Look through', href: `/seasons/${season.id}/rubric` }],
  };
}

function placesStep({ venues, teams }: SetupFacts): Made {
  const enough = venues >= 1 && teams >= 2;
  return {
    key: 'places',
    title: 'Venues and teams',
    state: enough ? 'done' : venues + teams > 0 ? 'in part' : 'to do',
    says: enough
      ? `${counted(venues, 'venue')}, ${counted(teams, 'team')}.`
      : venues === 0
        ? 'Venues first: they give each kickoff its time zone. A game then needs two teams.'
        : `${counted(venues, 'venue')}, ${counted(teams, 'team')}: a game needs two teams.`,
    links: [
      enough
        ? { label: 'Open', href: '/teams' }
        : venues === 0
          ? { label: 'Add a venue', href: '/venues/add' }
          : { label: 'Add a team', href: '/teams/add' },
      importing('Import files'),
    ],
  };
}

function staffStep({ officials, observers, season, conference }: SetupFacts): Made {
  const size = season?.crewSize ?? conference.crewSize;
  const has = `${counted(officials, 'official')}, ${counted(observers, 'observer')}`;
  const lacking = [
    ...(officials < size ? [`a crew needs ${size} officials`] : []),
    ...(observers === 0 ? ['reports need an observer'] : []),
  ];
  return {
    key: 'staff',
    title: 'Staff',
    state: lacking.length === 0 ? 'done' : officials + observers > 0 ? 'in part' : 'to do',
    says: `${has}${lacking.length > 0 ? `: ${lacking.join(', and ')}` : ''}.`,
    links: [
      lacking.length > 0
        ? { label: 'Add a person', href: '/people/invite' }
        : { label: 'Open', href: '/people' },
      importing('Import files'),
    ],
  };
}

function crewsStep({ season, crews, officials }: SetupFacts): Made {
  const step = { key: 'crews', title: 'Crews', mayLeaveOut: true } as const;
  if (season === null) return waitsForSeason(step);
  const { whole, short } = crews;
  const done = whole > 0 && short.length === 0;
  const add = { label: 'Add a crew', href: `/seasons/${season.id}/crews/add` };
  return {
    ...step,
    state: done ? 'done' : whole + short.length > 0 ? 'in part' : 'to do',
    says:
      short.length > 0
        ? `Not yet ${season.crewSize} officials: ${short.join(', ')}.`
        : done
          ? `${counted(whole, 'crew')} of ${season.crewSize}.`
          : officials === 0
            ? 'Who usually works together. Officials first, then crews of them.'
            : 'Who usually works together. Leave it out when crews are made for each game.',
    links: [
      whole + short.length > 0 ? { label: 'Open', href: `/seasons/${season.id}/crews` } : add,
      importing('Import files'),
    ],
  };
}

function scheduleStep({ season, games, teams, venues }: SetupFacts): Made {
  const step = { key: 'schedule', title: 'Schedule' } as const;
  if (season === null) return waitsForSeason(step);
  const lacks = teams < 2 || venues === 0;
  return {
    ...step,
    state: games.all > 0 ? 'done' : 'to do',
    says:
      games.all > 0
        ? `${counted(games.all, 'game')} in ${counted(games.weeks, 'week')}${games.withoutCrew > 0 ? `, ${games.withoutCrew} without a crew` : ''}.`
        : lacks
          ? 'The games, each with its teams and venue: those come first.'
          : 'The games, each with its teams, venue and kickoff.',
    links: [
      games.all > 0
        ? { label: 'Open', href: `/seasons/${season.id}` }
        : { label: 'Add a game', href: `/seasons/${season.id}/games/add` },
      importing('Import files'),
    ],
  };
}

function invitationsStep({ season, invitations, officials, observers }: SetupFacts): Made {
  const step = { key: 'invitations', title: 'Invitations', mayLeaveOut: true } as const;
  const { come, invited, missing } = invitations;
  const links = [{ label: missing > 0 ? 'Invite' : 'Open', href: '/people/invitations' }];
  if (officials + observers === 0) {
    return { ...step, state: 'to do', says: 'Nobody to invite yet: staff first.', links };
  }
  const parts = [
    ...(come > 0 ? [`${come} signed up`] : []),
    ...(invited > 0 ? [`${invited} invited`] : []),
    ...(missing > 0 ? [`${missing} not yet invited`] : []),
  ];
  return {
    ...step,
    state: missing === 0 ? 'done' : come + invited > 0 ? 'in part' : 'to do',
    says: `${parts.join(', ')}.${missing > 0 && season !== null ? ' Officials can also be invited later, when there is something to show them.' : ''}`,
    links,
  };
}

function settingsStep({ season, conference }: SetupFacts): Made {
  const step = { key: 'settings', title: 'Settings' } as const;
  if (season === null) return waitsForSeason(step);
  const confirmed = season.answers.get('settings') === 'confirmed';
  return {
    ...step,
    state: confirmed ? 'done' : 'to do',
    says: `${counted(conference.reportDays, 'day')} to file a report; ${counted(conference.replyDays, 'day')} to answer a released mark; ranked from ${counted(season.minimumGames, 'game')} and ${counted(season.minimumOpportunities, 'opportunity', 'opportunities')}; ${counted(season.postseasonPlaces, 'place')} a position.${confirmed ? '' : ' Look through and keep.'}`,
    links: [{ label: confirmed ? 'Change' : 'Look through', href: `/seasons/${season.id}/settings` }],
  };
}

const waitsForSeason = <Step extends object>(step: Step) => ({
  ...step,
  state: 'waits' as const,
  says: 'Belongs to a season: open that first.',
  links: [],
});

const counted = (count: number, one: string, several = `${one}s`) =>
  `${count} ${count === 1 ? one : several}`;
