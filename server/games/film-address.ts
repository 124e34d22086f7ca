/**
 * The film's address at that second, as players of plain video files read it (W3C Media Fragments URI 1.0, section
 * 4.2.1), unless the address names a place of its own. Null where there is no address that a browser opens from the
 * web: what people paste may be anything.
 */
export function filmAddress(link: string | null, seconds: number | null | undefined): string | null {
  if (link === null || !URL.canParse(link)) return null;
  const url = new URL(link);
  if (!/^https?:$/.test(url.protocol)) return null;
  if (seconds !== null && seconds !== undefined && url.hash === '') url.hash = `t=${Math.floor(seconds)}`;
  return url.href;
}
