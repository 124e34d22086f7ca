import { useRef, useState } from 'preact/hooks';
import { type Cut, type Shot, secondsOfTicks } from '../../../timeline/cut.ts';
import { began, did, redone, undone } from '../../../web/browser/history.ts';
import { Autosave, type SaveState } from './autosave.ts';
import { ask, type CutAnswer, type EditorFilm } from './editor-link.ts';
import { framesAround } from './use-film.ts';

/** A cut whose shots begin and end with frames of their films, as a default cut's need not. */
export async function onFrames(cut: Cut, films: readonly EditorFilm[]): Promise<Cut> {
  const shots: Shot[] = [];
  for (const shot of cut.shots) {
    const film = films.find(({ id }) => id === shot.filmId);
    const [from, to] = [secondsOfTicks(shot.from, shot.timebase), secondsOfTicks(shot.to, shot.timebase)];
    const frames = film && (await framesAround(film, from));
    const same =
      frames &&
      shot.timebase.numerator * frames.timebase.denominator ===
        shot.timebase.denominator * frames.timebase.numerator;
    if (!frames || same) shots.push(shot);
    else
      shots.push({
        ...shot,
        timebase: frames.timebase,
        from: frames.seenAt(from),
        to: Math.min(frames.end, frames.endOf(frames.seenAt(to - 0.0005))),
      });
  }
  return { ...cut, shots };
}

/** The cut as it is on the page, what can be taken back of it, and whether the server has it. */
export function useCut(address: string, start: CutAnswer, first: Cut) {
  const [history, setHistory] = useState(began(first));
  const [saving, setSaving] = useState<SaveState>({ is: 'saved' });
  const [theirs, setTheirs] = useState<CutAnswer>();
  const version = useRef(start.version);
  const newest = useRef(history);
  newest.current = history;
  const keeper = useRef<Autosave<Cut>>();
  keeper.current ??= new Autosave<Cut>(
    async (cut) => {
      const kept = await ask<CutAnswer>(address, { method: 'PUT', json: { cut, version: version.current } });
      version.current = kept.version;
    },
    (state) => {
      setSaving(state);
      if (state.is === 'changed by somebody else')
        void ask<CutAnswer>(address).then(setTheirs, () => setSaving({ is: 'offline', why: state.why }));
    },
  );
  const become = (next: typeof history) => {
    if (next.now !== newest.current.now) keeper.current!.changed(next.now);
    newest.current = next;
    setHistory(next);
  };
  /** What the server has now; nothing that waited to be saved is. */
  const adopt = async (answer: CutAnswer) => {
    version.current = answer.version;
    const cut = await onFrames(answer.cut ?? first, answer.films);
    keeper.current!.forget();
    const next = did(newest.current, cut);
    newest.current = next;
    setHistory(next);
  };
  return {
    ...{ cut: history.now, saving, theirs },
    ...{ canUndo: history.past.length > 0, canRedo: history.future.length > 0 },
    change: (cut: Cut, what = '') => become(did(newest.current, cut, what)),
    now: () => newest.current.now,
    undo: () => become(undone(newest.current)),
    redo: () => become(redone(newest.current)),
    keepMine: async () => {
      version.current = theirs!.version;
      setTheirs(undefined);
      await keeper.current!.now();
    },
    takeTheirs: async () => {
      await adopt(theirs!);
      setTheirs(undefined);
    },
    backToDefault: async () => {
      await keeper.current!.now();
      await adopt(await ask(`${address}?version=${version.current}`, { method: 'DELETE' }));
    },
  };
}
export type CutKeeper = ReturnType<typeof useCut>;
