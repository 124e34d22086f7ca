/** A question that can be asked, with how it went so far. */
interface Drawable {
  readonly id: string;
  readonly asked: number;
  readonly right: number;
}

/** Share right so far, drawn to a half where few were asked: of nobody asked it is a half. */
const ease = ({ asked, right }: Drawable) => (right + 1) / (asked + 2);

/** One of `count` numbers from 0, each as likely. */
type Choose = (count: number) => number;

/**
 * The questions of a first sitting: all in their order, or as many as are drawn, each as likely.
 *
 * @param draws how many; null: all
 */
export function firstDraw<One extends Drawable>(
  pool: readonly One[],
  draws: number | null,
  choose: Choose,
): One[] {
  return draws === null ? [...pool] : shuffled(pool, choose).slice(0, draws);
}

interface Redrawn<One> {
  readonly questions: One[];
  /** How many of them this official was asked before. */
  readonly repeated: number;
}

/**
 * The questions of a retake: for each of the sitting before, in its place, one not asked yet whose ease is nearest, so that
 * the retake is about as hard. Where none is left, questions asked before come again, the longest ago first.
 *
 * @param sittings what was asked before, sitting by sitting, in order
 */
export function redraw<One extends Drawable>(
  pool: readonly One[],
  draws: number | null,
  sittings: readonly (readonly string[])[],
  choose: Choose,
): Redrawn<One> {
  const before = new Set(sittings.flat());
  if (draws === null)
    return { questions: [...pool], repeated: pool.filter(({ id }) => before.has(id)).length };
  const fresh = shuffled(
    pool.filter(({ id }) => !before.has(id)),
    choose,
  );
  const byId = new Map(pool.map((one) => [one.id, one]));
  const questions: One[] = [];
  for (const id of (sittings.at(-1) ?? []).slice(0, draws)) {
    const like = byId.get(id);
    const nearest = fresh.reduce<number>(
      (best, one, at) => (best < 0 || distance(one, like) < distance(fresh[best]!, like) ? at : best),
      -1,
    );
    if (nearest >= 0) questions.push(...fresh.splice(nearest, 1));
  }
  questions.push(...fresh.splice(0, draws - questions.length));
  const taken = new Set(questions.map(({ id }) => id));
  const again = [...new Set(sittings.flat())]
    .filter((id) => !taken.has(id))
    .flatMap((id) => byId.get(id) ?? []);
  const repeated = again.slice(0, draws - questions.length);
  return { questions: shuffled([...questions, ...repeated], choose), repeated: repeated.length };
}

const distance = (one: Drawable, like: Drawable | undefined) =>
  like === undefined ? 0 : Math.abs(ease(one) - ease(like));

/** Fisher and Yates' shuffle. */
function shuffled<One>(list: readonly One[], choose: Choose): One[] {
  const mixed = [...list];
  for (let last = mixed.length - 1; last > 0; last -= 1) {
    const at = choose(last + 1);
    [mixed[last], mixed[at]] = [mixed[at]!, mixed[last]!];
  }
  return mixed;
}
