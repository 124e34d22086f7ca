/** Whether what is at `/assets/NAME-HASH.EXT` never changes, so that a kept copy is right. */
export const namesItsContent = (pathname: string) =>
  /^\/assets\/[\w-]+-\w{8,10}\.(js|css|woff2)$/.test(pathname);
