/** Bytes of one file. */
export const largestFile = 16 * 1024 * 1024;
/** Files that one folder may bring in; a home folder opened by mistake must not stall the editor. */
export const mostFiles = 20_000;
