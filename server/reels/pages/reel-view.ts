import type { FastifyInstance } from 'fastify';
import { bytesOf } from '../../films/film-files.ts';
import { bytesInWords } from '../../films/pages/film-view.ts';
import { frameRate, secondsOf } from '../../timeline/frames.ts';
import { reelFileGone } from '../reel-file.ts';
import { fileAddress, lackingOf } from '../reel-routes.ts';
import type { Reel } from '../reel-store.ts';

const stateWords = { waiting: 'being made', ready: 'ready', failed: 'could not be made' };
const tones = { waiting: '', ready: 'good', failed: 'bad' };

/** A reel as its pages show it. */
export async function reelView(app: FastifyInstance, conferenceId: string, reel: Reel) {
  const { plan, facts, state, edition, programId, id } = reel;
  const isReady = state === 'ready';
  const isGone = isReady && (await bytesOf(app.reels.files.reel(conferenceId, id))) === 0;
  return {
    ...{ ...reel, plan: undefined },
    name: edition === null ? 'Private preview' : `Reel of edition ${edition}`,
    title: plan.title,
    isPreview: edition === null,
    stateWords: state === 'waiting' && !reel.underway ? 'waiting to be made' : stateWords[state],
    tone: tones[state],
    isWaiting: state === 'waiting',
    isFailed: state === 'failed',
    part: Math.round(reel.progress * 100),
    isReady: isReady && !isGone,
    gone: isGone ? reelFileGone : null,
    file: fileAddress(reel),
    captions: `/api/training-programs/${programId}/reels/${id}/captions`,
    hasCaptions: plan.plays.some(({ narration }) => narration !== ''),
    size: bytesInWords(reel.bytes),
    seconds: facts?.seconds,
    plays: plan.plays.length,
    lacking: lackingOf(reel),
    whyLacking: byReason(lackingOf(reel)),
    notes: facts?.notes ?? [],
    hasSound: facts?.hasSound ?? false,
    chapters: (facts?.chapters ?? []).map(({ title, frame }) => ({
      title,
      seconds: secondsOf(frame),
      // The middle of the frame, so that rounding cannot show the one before.
      at: ((frame + 0.5) * frameRate.seconds) / frameRate.frames,
    })),
    questions: (facts?.questions ?? []).length,
  };
}

/** One line for each reason. */
function byReason(lacking: ReturnType<typeof lackingOf>) {
  const plays = new Map<string, number[]>();
  for (const { number, why } of lacking) plays.set(why, [...(plays.get(why) ?? []), number]);
  return [...plays].map(([why, numbers]) => ({
    why,
    plays: `${numbers.length === 1 ? 'Play' : 'Plays'} ${new Intl.ListFormat('en-US').format(numbers.map(String))}`,
  }));
}
