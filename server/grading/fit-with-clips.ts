import { type ClipMark, type ClipsTaken, noClips, tellingMarks } from './clip-marks.ts';
import { comparableGroups } from './connectedness.ts';

type Groups = ReturnType<typeof comparableGroups>;

/**
 * Fits a season with the marks of clips that tell anything beside its reports; where there are none, or it cannot be
 * fitted with them, as it is without.
 *
 * @param clips null where the season goes by reports alone
 */
export function fitWithClips<Result extends { fitted: true } | { fitted: false; reason: string }>(
  reports: readonly { official: string; observer: string }[],
  clips: readonly ClipMark[] | null,
  estimate: (groups: Groups, marks: readonly ClipMark[]) => Result,
): { result: Result; groups: Groups; clips: ClipsTaken | null } {
  const apart = comparableGroups(reports);
  const alone = () => ({ result: estimate(apart, []), groups: apart });
  if (clips === null) return { ...alone(), clips: null };
  const { marks, taken } = tellingMarks(clips, new Set(reports.map(({ observer }) => observer)));
  if (marks.length === 0) return { ...alone(), clips: taken };
  const groups = comparableGroups(reports, marks);
  const result = estimate(groups, marks);
  if (result.fitted) return { result, groups, clips: { ...taken, joined: apart.length - groups.length } };
  return { ...alone(), clips: noClips(`severity cannot be estimated with them: ${result.reason}`) };
}
