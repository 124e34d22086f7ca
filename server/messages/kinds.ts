/** What a person can be told, in the order in which the account page names them. */
export const kinds = [
  'invitation',
  'password link',
  'second factor',
  'offer',
  'change',
  'withdrawal',
  'reminder',
  'declined',
  'filed',
  'returned',
  'released',
  'window closing',
  'reply',
  'ruling',
  'letter',
  'training',
  'training reminder',
  'shown in training',
  'objection',
  'objection decided',
  'inquiry',
  'inquiry sent back',
  'statement asked',
  'second reading asked',
  'vote asked',
  'inquiry answered',
  'quiz',
  'quizzes count',
  'clinic',
  'postseason offer',
  'postseason offer withdrawn',
  'postseason offer declined',
  'postseason answer recorded',
] as const;
export type Kind = (typeof kinds)[number];

/** Mailed at once whatever its person has chosen: without it they could not come in, would not know who let others in or answered for them, or would travel in vain. */
const mustBeTold: ReadonlySet<Kind> = new Set([
  'invitation',
  'password link',
  'second factor',
  'withdrawal',
  'postseason offer withdrawn',
  'postseason answer recorded',
]);
export const isMust = (kind: Kind): boolean => mustBeTold.has(kind);

/** What a message is called where several are spoken of: "2 offers could not be sent". */
export const kindWords: Readonly<Record<Kind, { readonly one: string; readonly several: string }>> = {
  invitation: { one: 'An invitation', several: 'invitations' },
  'password link': { one: 'A link for a new password', several: 'links for a new password' },
  'second factor': { one: 'Word of a second factor', several: 'messages of second factors' },
  offer: { one: 'An offer', several: 'offers' },
  change: { one: 'A change of an assignment', several: 'changes of assignments' },
  withdrawal: { one: 'A withdrawal', several: 'withdrawals' },
  reminder: { one: 'A reminder', several: 'reminders' },
  declined: { one: 'Word of an observer who declined', several: 'messages of observers who declined' },
  filed: { one: 'Word of a filed report', several: 'messages of filed reports' },
  returned: { one: 'Word of a returned report', several: 'messages of returned reports' },
  released: { one: 'Word of a released evaluation', several: 'messages of released evaluations' },
  'window closing': { one: 'A reminder of a reply', several: 'reminders of replies' },
  reply: { one: 'Word of a reply', several: 'messages of replies' },
  ruling: { one: 'Word of a ruling', several: 'messages of rulings' },
  letter: { one: 'A letter', several: 'letters' },
  training: { one: 'Word of a training program', several: 'messages of training programs' },
  'training reminder': { one: 'A reminder of training', several: 'reminders of training' },
  'shown in training': {
    one: 'Word of being shown in training',
    several: 'messages of being shown in training',
  },
  objection: { one: 'Word of an objection', several: 'messages of objections' },
  'objection decided': {
    one: 'Word of a decision on an objection',
    several: 'messages of decisions on objections',
  },
  inquiry: { one: 'Word of an inquiry', several: 'messages of inquiries' },
  'inquiry sent back': {
    one: 'Word of an inquiry sent back',
    several: 'messages of inquiries sent back',
  },
  'statement asked': { one: 'A question to the crew', several: 'questions to the crew' },
  'second reading asked': { one: 'A request to read a play', several: 'requests to read a play' },
  'vote asked': { one: 'A request to vote', several: 'requests to vote' },
  'inquiry answered': { one: 'An answer to a team', several: 'answers to teams' },
  quiz: { one: 'Word of a quiz', several: 'messages of quizzes' },
  'quizzes count': {
    one: 'Word of quizzes in the season’s figure',
    several: 'messages of quizzes in the season’s figure',
  },
  clinic: { one: 'Word of a clinic', several: 'messages of clinics' },
  'postseason offer': { one: 'A postseason offer', several: 'postseason offers' },
  'postseason offer withdrawn': {
    one: 'Word of a postseason offer withdrawn',
    several: 'messages of postseason offers withdrawn',
  },
  'postseason offer declined': {
    one: 'Word of a postseason offer declined',
    several: 'messages of postseason offers declined',
  },
  'postseason answer recorded': {
    one: 'Word of an answer written down',
    several: 'messages of answers written down',
  },
};

/** How a person wants to be mailed; on their desk every message stands at once. */
export const wantedWays = ['at once', 'daily', 'none'] as const;
export type Wanted = (typeof wantedWays)[number];

/** The hour of the conference's day, 0 to 23, at which the daily mail leaves. */
export const digestHour = 7;

type OfGame = { readonly game: string; readonly week: number };

/** A place at a game after the season; `playedOn` is a day, `kickoff` on the clock of the place, what is not known empty. */
type OfPlace = {
  readonly game: string;
  /** `umpire`, or `alternate 1, as umpire`. */
  readonly place: string;
  readonly playedOn: string;
  readonly kickoff: string;
  readonly teams: string;
  readonly where: string;
};

type TrainingFacts = { readonly title: string; readonly edition: number; readonly dueOn: string | null };

/**
 * An assignment as it stood; the database writes these for offers, changes and withdrawals (`tell_of_assignment`), and
 * what coordinators read of a decline (`tell_of_decline`).
 */
type AssignmentFacts = OfGame & {
  readonly kickoff: string;
  readonly timeZone: string;
  readonly venue: string;
  readonly how: 'in person' | 'film';
  readonly answer: 'offered' | 'accepted' | 'declined';
};

/** What each kind's template (templates/messages/KIND.hbs) says of what happened. Instants are ISO text. */
export interface FactsOf {
  invitation: { readonly coordinator: string };
  'password link': Record<string, never>;
  /** What was done with their second factor, and by whom; of before others were told of there were resets only. */
  'second factor': {
    readonly by: string;
    readonly what?: 'reset' | 'set up' | 'removed' | 'new recovery codes';
  };
  offer: AssignmentFacts;
  change: AssignmentFacts;
  withdrawal: AssignmentFacts;
  reminder:
    | (AssignmentFacts & { readonly of: 'answer' | 'game' })
    | (OfGame & {
        readonly of: 'report';
        readonly gameId: string;
        readonly returned: boolean;
        readonly due: string;
        readonly timeZone: string;
      })
    | {
        readonly of: 'calibration' | 'calibration still';
        readonly setId: string;
        readonly title: string;
        readonly clips: number;
        readonly dueOn: string | null;
      };
  declined: OfGame & {
    readonly observer: string;
    readonly gameId: string;
    readonly reason: string;
    readonly kickoff: string;
    readonly timeZone: string;
  };
  filed: OfGame & { readonly observer: string };
  returned: OfGame & { readonly reason: string };
  /** `answerUntil` is null where nothing can be answered. */
  released: OfGame & { readonly answerUntil: string | null };
  'window closing': OfGame & { readonly answerUntil: string; readonly unanswered: number };
  reply: OfGame & { readonly official: string; readonly play: number };
  ruling: OfGame & { readonly play: number; readonly ruling: 'stands' | 'changed' | 'withdrawn' };
  letter: {
    readonly letter: string;
    readonly season: string;
    readonly edition: number;
    readonly attached: boolean;
  };
  /** `note` says what was corrected; `dueOn` is a day, YYYY-MM-DD. */
  training: TrainingFacts & { readonly goal: string; readonly note: string };
  'training reminder': TrainingFacts;
  'shown in training': {
    readonly title: string;
    readonly plays: number;
    readonly until: string;
    readonly timeZone: string;
  };
  objection: { readonly title: string; readonly official: string };
  'objection decided': {
    readonly title: string;
    readonly decision: 'shown' | 'left out';
    readonly reason: string;
  };
  /** `due` is the last day to answer it, YYYY-MM-DD. */
  inquiry: OfGame & {
    readonly number: number;
    readonly team: string;
    readonly what: 'new' | 'reopened';
    readonly due: string;
  };
  'inquiry sent back': OfGame & {
    readonly number: number;
    readonly because: 'late' | 'not reviewable';
    readonly reason: string;
  };
  'statement asked': OfGame;
  'second reading asked': OfGame;
  'vote asked': { readonly title: string };
  'inquiry answered': OfGame & {
    readonly number: number;
    readonly round: number;
    readonly ruling: string;
  };
  /** `percent` is what quizzes count in the season's figure; null where they do not. `counts` says which sitting does. */
  quiz: {
    readonly what: 'announced' | 'longer' | 'for you' | 'withdrawn';
    readonly quizId: string;
    readonly title: string;
    readonly opensAt: string;
    readonly closesAt: string;
    readonly timeZone: string;
    readonly minutes: number;
    readonly questions: number;
    readonly starts: number;
    readonly counts: string | null;
    readonly percent: number | null;
  };
  'quizzes count': { readonly season: string; readonly percent: number | null };
  /** `heldOn` is a day, YYYY-MM-DD. Without `what`, as of old: asked to come. */
  clinic: {
    readonly what?: 'asked' | 'called off';
    readonly title: string;
    readonly heldOn: string;
    readonly place: string;
    readonly minutes: number | null;
    readonly makeUp: string;
  };
  'postseason offer': OfPlace & {
    readonly what: 'new' | 'more time' | 'moved up';
    /** Of who moves up, the place as an alternate that this takes the place of. */
    readonly instead?: string;
    /** A day, YYYY-MM-DD. */
    readonly answerBy: string;
    readonly embargoUntil: string | null;
  };
  'postseason offer withdrawn': OfPlace & { readonly reason: string };
  'postseason offer declined': Pick<OfPlace, 'game' | 'place'> & {
    readonly official: string;
    readonly reason: string;
  };
  'postseason answer recorded': OfPlace & {
    readonly answer: 'accepted' | 'declined';
    /** The coordinator who wrote it down. */
    readonly by: string;
    /** Who took the call, and when. */
    readonly note: string;
    readonly reason: string;
  };
}
