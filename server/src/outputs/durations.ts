/** `1 d 2 h 30 min`: days of 24 hours, for time that runs on. */
export function duration(seconds: number): string {
  const minutes = Math.round(seconds / 60);
  const days = Math.floor(minutes / 1440);
  if (days === 0) return workDuration(seconds);
  const rest = minutes % 1440;
  return rest === 0 ? `${days} d` : `${days} d ${workDuration(rest * 60)}`;
}

/** `26 h 30 min`: nobody works a day of 24 hours. */
export function workDuration(seconds: number): string {
  const minutes = Math.round(seconds / 60);
  const hours = Math.floor(minutes / 60);
  const said = [hours > 0 ? `${hours} h` : '', minutes % 60 > 0 ? `${minutes % 60} min` : ''].filter(
    (piece) => piece !== '',
  );
  return said.length === 0 ? '0 min' : said.join(' ');
}
