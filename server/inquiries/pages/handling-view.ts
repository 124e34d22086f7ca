import type { PersonActing } from '../../accounts/acting.ts';
import type { Session } from '../../accounts/session.ts';
import type { Queryable } from '../../database/transaction.ts';
import { type Form, listOf, textOf } from '../../web/form.ts';
import { dayIn } from '../../web/today.ts';
import type { Refused } from '../refusals.ts';
import { namesNobody } from '../rules/answering.ts';
import { rulingMeans, rulings, sentBackReasons } from '../rules/categories-and-rulings.ts';
import { daysOverdue } from '../rules/limits.ts';
import { hasUnreleased } from '../rules/released.ts';
import { isOpen, stepsFrom } from '../rules/states.ts';
import { tiesInWords } from '../rules/ties.ts';
import { possibleReaders } from '../stores/handling-store.ts';
import { type Inquiry, readInquiry, roundOf } from '../stores/inquiry-store.ts';
import { crewOf, releasedMarksOn } from '../stores/marks-store.ts';
import { readingsOf, statementsOf } from '../stores/statement-store.ts';
import { tiesToGame, workedGame } from '../stores/ties-store.ts';
import { inquiryView } from './inquiry-view.ts';

/** What officials are asked, if the coordinator does not say it otherwise: nothing of who asks, or what. */
const usualAsked =
  'What did you see and do on this play, and what was it ruled on? Write it in your own words, as you remember it.';

/** All that a coordinator sees of an inquiry, with what may be done next. */
export async function handlingView(
  db: Queryable,
  session: Session,
  inquiryId: string,
  typed: Form = {},
  refused: Refused | null = null,
) {
  const { conferenceId, timeZone } = session;
  const inquiry = await readInquiry(db, conferenceId, inquiryId);
  const readings = await readingsOf(db, conferenceId, inquiryId);
  const reading = readings.find(({ round }) => round === roundOf(inquiry)) ?? null;
  const statements = await statementsOf(db, conferenceId, inquiryId);
  const asked = new Set(statements.map(({ personId }) => personId));
  const own =
    (await tiesToGame(db, conferenceId, inquiry.gameId, [session.personId])).get(session.personId) ?? [];
  const worked = await workedGame(db, session, inquiry.gameId);
  const kept = own.length > 0 || worked;
  const open = isOpen(inquiry.state) && !inquiry.closedSeason && !kept;
  const may = new Set(inquiry.closedSeason || kept ? [] : stepsFrom(inquiry.state, 'coordinator'));
  const readItThemselves =
    inquiry.decisive && reading?.readAt != null && reading.readerId === session.personId;
  const step = textOf(typed.step);
  return {
    ...inquiryView(inquiry),
    version: inquiry.version,
    overdue:
      isOpen(inquiry.state) && inquiry.dueOn !== null ? daysOverdue(inquiry.dueOn, dayIn(timeZone)) : 0,
    open,
    tied: own.length > 0 ? tiesInWords(own) : null,
    worked,
    statements,
    readings: readings.map((one) => ({
      ...one,
      again: one.round > 1,
      waits: one.readAt === null && isOpen(inquiry.state) && one.round === roundOf(inquiry),
    })),
    mayTakeUp: may.has('take up'),
    maySendBack: may.has('send back'),
    mayAskCrew: may.has('ask the crew'),
    mayReview: may.has('review'),
    mayAnswer: may.has('answer') && !readItThemselves,
    readItThemselves: may.has('answer') && readItThemselves,
    mayCloseIt: may.has('close'),
    mayAskReader: may.has('ask a second reader') && inquiry.decisive && reading?.readAt == null,
    mayCallDecisive: open && inquiry.state !== 'received',
    mayRelease: !kept && !inquiry.closedSeason && hasUnreleased(inquiry),
    needsReader: inquiry.decisive && reading?.readAt == null,
    differing: inquiry.decisive && reading?.ruling ? reading.ruling : null,
    because: sentBackReasons.map((value) => ({ value, chosen: value === textOf(typed.because) })),
    crew: may.has('ask the crew')
      ? (await crewOf(db, conferenceId, inquiry.gameId)).map((one) => ({
          ...one,
          asked: asked.has(one.personId),
          chosen: step === 'ask the crew' ? listOf(typed.personIds).includes(one.personId) : false,
        }))
      : [],
    readers: may.has('ask a second reader')
      ? await readersToChoose(db, session, inquiry, textOf(typed.personId))
      : [],
    rulings: rulings.map((value) => ({
      value,
      means: rulingMeans[value],
      chosen: step === 'answer' && value === textOf(typed.ruling),
    })),
    marks: inquiry.play ? await releasedMarksOn(db, conferenceId, inquiry.play.playId) : [],
    correction: `Inquiry ${inquiry.number} of season ${inquiry.season}`,
    typed: {
      sentBack: step === 'send back' ? textOf(typed.reason) : '',
      asked: step === 'ask the crew' ? textOf(typed.asked) : usualAsked,
      rule: textOf(typed.rule),
      reason: step === 'answer' ? textOf(typed.reason) : '',
      differs: textOf(typed.differs),
    },
    namesMeant: step === 'answer' && textOf(typed.namesMeant) === 'yes',
    askingNames:
      step === 'answer' && Object.values(refused?.errors ?? {}).some((wrong) => wrong?.endsWith(namesNobody)),
    step,
    errors: refused?.errors ?? {},
    wrong: refused?.wrong ?? null,
    zone: timeZone,
    isStep: Object.fromEntries(
      ['take up', 'send back', 'ask the crew', 'ask a second reader', 'answer'].map((name) => [
        name.replaceAll(' ', ''),
        name === step,
      ]),
    ),
  };
}

async function readersToChoose(db: Queryable, acting: PersonActing, inquiry: Inquiry, chosen: string) {
  return (await possibleReaders(db, acting, inquiry)).map((one) => ({ ...one, chosen: one.id === chosen }));
}
