import type pg from 'pg';
import type { PersonActing } from '../../accounts/acting.ts';
import { holdRecording } from '../../narration/recording-store.ts';
import type { Cut } from '../../timeline/cut.ts';
import { invalid } from '../../web/problem.ts';
import { changeProgram } from './change-program.ts';
import { type CutBy, readCut, writeCut } from './cut-store.ts';
import { playIn } from './play-store.ts';

/** Of a cut that somebody else changed meanwhile: how it is now; undefined: as nobody cut it. */
export class CutChanged extends Error {
  override name = 'CutChanged';
  constructor(readonly now: CutBy | undefined) {
    super('the cut was changed by somebody else');
  }
}

/**
 * Keeps how a play is cut, or goes back to the default (null).
 * @param version of the cut that the person had before their eyes; 0: nobody had cut it
 * @throws Problem 404 when the program has no such play, 400 when its voice is no recording of this play; CutChanged when
 *   the cut changed since `version`
 */
export async function keepCut(
  pool: pg.Pool,
  acting: PersonActing,
  programId: string,
  playId: string,
  cut: Cut | null,
  version: number,
): Promise<void> {
  await changeProgram(pool, acting, programId, {}, async (client, program) => {
    const place = program.plays.indexOf(playIn(program, playId)) + 1;
    const now = await readCut(client, acting.conferenceId, programId, playId);
    if ((now?.version ?? 0) !== version) throw new CutChanged(now);
    if (!now && cut === null) return null;
    if (
      cut?.voice?.kind === 'recorded' &&
      !(await holdRecording(client, acting.conferenceId, { programId, playId }, cut.voice.recordingId))
    )
      throw invalid([{ field: 'cut.voice.recordingId', message: strangeRecording }]);
    const before = await writeCut(client, acting, program, { playId, cut });
    return {
      said: cut === null ? `took the cut of play ${place} back` : `cut play ${place}`,
      raises: 'card',
      before,
      after: { playId, cut },
      cuts: [before],
      goesOn: true,
    };
  });
}

const strangeRecording =
  'names no recording of this play: it was removed, or never there. Record the narration again, or take the voice off.';
