export type Paper = 'a4' | 'letter';

/** Text in a CSS string: everything but plain letters, digits and blanks as a code point, so that nothing ends it early. */
const cssText = (text: string): string =>
  text.replace(/[^A-Za-z0-9 .,]/gu, (sign) => `\\${sign.codePointAt(0)!.toString(16)} `);

/**
 * The card's only style sheet. Black on white, nothing told by colour; no text under 11 pt; boxes of 5 mm for gloved
 * hands. A step is kept on one page, a long one breaks between statements, or between rows of a long table, and its head, with the messages
 * above all its work, stands again on each page, and so do the messages within it on those where what they are for goes on.
 */
export const styleOf = (paper: Paper, running: string): string => `
@page { size: ${paper === 'letter' ? 'letter' : 'A4'} portrait; margin: 14mm 12mm 16mm 18mm;
  @top-left { content: "${cssText(running)}"; font: 11pt/1.2 system-ui, sans-serif; }
  @bottom-left { content: "Maker\\2019 s data, local codes and licensed practice prevail."; font: 11pt/1.2 system-ui, sans-serif; }
  @bottom-right { content: "Page " counter(page) " of " counter(pages); font: 11pt/1.2 system-ui, sans-serif; }
}
.job-card { color-scheme: light; color: #000; background: #fff; font: 11pt/1.36 system-ui, -apple-system, "Segoe UI", Roboto, "Noto Sans", "Liberation Sans", Arial, sans-serif; overflow-wrap: anywhere; }
.job-card *, .job-card *::before { box-sizing: border-box; }
.job-card :is(h1, h2, h3, p, ul, ol, dl, dd, figure, table) { margin: 0; padding: 0; }
.job-card :is(h1, h2, h3) { line-height: 1.2; break-after: avoid; }
.job-card h1 { font-size: 19pt; }
.job-card h2 { font-size: 14pt; margin: 6mm 0 2mm; border-bottom: 0.6mm solid #000; }
.job-card h3 { font-size: 12.5pt; }
.job-card p, .job-card li { orphans: 2; widows: 2; }
.job-card ol, .job-card ul { list-style: none; }
.job-card code { font: inherit; font-family: ui-monospace, "Liberation Mono", monospace; }
.job-card :is(.value, .count, .figure) { white-space: nowrap; }
.job-card > header p { margin-top: 1mm; }
/* Nobody signs on a sheet without work: the last step comes along. Where the two do not fit one sheet, an inline block is kept whole. */
.job-card .closing { break-before: avoid; }
.job-card .closing > div { display: inline-block; width: 100%; vertical-align: top; }
.job-card footer { margin-top: 6mm; padding-top: 2mm; border-top: 0.6mm solid #000; }

/* Boxes and lines to write on */
.job-card label { display: flex; gap: 2.5mm; align-items: flex-start; }
.job-card label > span { min-width: 0; }
.job-card input[type="checkbox"] { appearance: none; flex: none; width: 5mm; height: 5mm; margin: 0; border: 0.5mm solid #000; border-radius: 0; background: #fff; }
.job-card input[type="checkbox"]:checked { background: linear-gradient(45deg, transparent 44%, #000 44% 56%, transparent 56%), linear-gradient(-45deg, transparent 44%, #000 44% 56%, transparent 56%); print-color-adjust: exact; }
.job-card input[type="text"] { font: inherit; color: inherit; min-width: 0; max-width: 100%; height: 7.5mm; padding: 0 1mm; border: 0; border-bottom: 0.4mm solid #000; border-radius: 0; background: none; }
.job-card input:focus-visible { outline: 0.8mm solid #000; outline-offset: 0.6mm; }
@media (forced-colors: active) {
  /* The cross is a gradient, which the browser would take away. */
  .job-card input[type="checkbox"] { forced-color-adjust: none; border-color: CanvasText; background: Canvas; }
  .job-card input[type="checkbox"]:checked { background: linear-gradient(45deg, transparent 44%, CanvasText 44% 56%, transparent 56%), linear-gradient(-45deg, transparent 44%, CanvasText 44% 56%, transparent 56%), Canvas; }
  .job-card input[type="checkbox"]:focus-visible { outline-color: Highlight; }
  .job-card .torquing svg { background: #fff; }
}
.job-card .fields { display: flex; flex-wrap: wrap; gap: 1mm 5mm; align-items: flex-end; margin-top: 1mm; break-inside: avoid; }
.job-card .fields label { align-items: flex-end; gap: 1.5mm; }
.job-card .fields .verdict { align-items: center; }
.job-card .signature { min-height: 11mm; }
.job-card .unseen { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }

/* Front */
.job-card .unit { border: 0.6mm solid #000; padding: 2mm 3mm 3mm; margin-top: 4mm; break-inside: avoid; }
.job-card .unit h2 { margin-top: 0; }
.job-card .codes { display: flex; flex-wrap: wrap; gap: 2mm 8mm; margin: 2mm 0; }
.job-card .codes label { align-items: center; }
.job-card .code { font-size: 15pt; }
.job-card .findings { border: 0.4mm solid #000; padding: 2mm 3mm; margin-top: 4mm; break-inside: avoid; }
.job-card .findings.open { border: 1.6mm solid #000; }
.job-card .findings.open h2 { margin-top: 0; font-size: 19pt; border: 0; text-transform: uppercase; }
.job-card .findings li { margin-top: 1mm; padding-left: 4mm; text-indent: -4mm; }
.job-card .findings li::before { content: "– "; }
.job-card .words { break-inside: avoid; }
.job-card .words div { display: grid; grid-template-columns: 28mm 1fr; }
.job-card .words dt { font-weight: 700; letter-spacing: 0.04em; }
.job-card .words p { margin-top: 1.5mm; }
.job-card table { width: 100%; border-collapse: collapse; margin-bottom: 3mm; }
.job-card caption { text-align: left; font-weight: 700; padding: 1mm 0; break-after: avoid; }
.job-card th { text-align: left; font-weight: 600; overflow-wrap: break-word; }
.job-card :is(th, td) { border: 0.25mm solid #000; padding: 1mm 1.5mm; vertical-align: top; }
.job-card tr { break-inside: avoid; }
.job-card td .value { white-space: normal; }
.job-card .kit h3 { margin: 3mm 0 1mm; font-size: 11pt; }
.job-card :is(.have, .tray-map) { display: grid; grid-template-columns: 1fr 1fr; align-items: start; column-gap: 6mm; }
.job-card .have li { break-inside: avoid; padding-bottom: 1.6mm; }
.job-card .kit > p { margin-top: 1.5mm; }
.job-card .trays > p { break-after: avoid; }
.job-card .tray-map { column-gap: 4mm; margin-top: 2mm; }
.job-card .tray { break-inside: avoid; border: 0.4mm solid #000; padding: 1.5mm 2.5mm; margin-bottom: 3mm; }
.job-card .tray ul { margin: 1mm 0; }
.job-card .tray ul li { padding-left: 4mm; text-indent: -4mm; }
.job-card .tray ul li::before { content: "– "; }

/* Steps */
.job-card .kept:not(.long) { break-inside: avoid; }
.job-card .step { border-top: 0.6mm solid #000; padding: 2mm 0 4mm; }
.job-card h2 + .kept > .step { border-top: 0; }
.job-card :is(.step > header, .under > ul) { break-inside: avoid; break-after: avoid; }
.job-card .heading { display: flex; flex-wrap: wrap; gap: 0 4mm; justify-content: space-between; align-items: baseline; padding-bottom: 1mm; }
.job-card .heading + .statements > :first-child, .job-card header:not(:has(ul)) + .statements > :first-child { margin-top: 0.8mm; }
.job-card .step h3 { flex: 1 1 60%; display: flex; align-items: baseline; }
.job-card .number { flex: none; min-width: 7mm; padding: 0.3mm 1mm; margin-right: 2.5mm; border: 0.5mm solid #000; text-align: center; }
.job-card .statement, .job-card .safety, .job-card .choose { break-inside: avoid; margin-top: 1.8mm; }
.job-card .statement { display: flex; flex-wrap: wrap; gap: 1mm 5mm; }
.job-card .statement > label { flex: 0 1 auto; }
.job-card .statement > :not(label) { margin-left: 7.5mm; }
.job-card .statement > .fields { margin: 0 0 0 7.5mm; }
.job-card .statement > :is(.torquing, .shims, .note) { flex: 0 0 calc(100% - 7.5mm); margin-top: 0.5mm; }
.job-card .unread { border: 1mm solid #000; padding: 1.5mm; }
.job-card .unread > p { margin-left: 0; }
.job-card .clauses { color: #222; }
.job-card .clauses::before { content: "– "; }
.job-card .empty { margin-top: 1.8mm; font-style: italic; }
.job-card .safety { break-after: avoid; border: 0.5mm solid #000; padding: 1.2mm 2.5mm; }
/* Where a head stands again, the first statement below it has no margin of its own. */
.job-card :is(.step > header, .under) > ul > :last-child { margin-bottom: 1mm; }
.job-card :is(.step > header:has(ul) + ol, .under > ol) > :first-child { margin-top: 0.8mm; }
.job-card .safety strong { letter-spacing: 0.06em; margin-right: 1.5mm; }
.job-card :is(.danger, .warning) { border-width: 1mm; font-weight: 600; }
.job-card :is(.danger, .warning) strong { font-size: 12.5pt; font-weight: 800; }
.job-card .notice { border-style: dashed; }
.job-card .choice { margin-top: 1.8mm; break-inside: avoid; }
.job-card .choice:not(.plain) { border-left: 1mm double #000; padding-left: 3mm; }
.job-card .way-box { border: 0.3mm dashed #000; padding: 1.5mm 2.5mm; margin-top: 1.5mm; break-inside: avoid; }
.job-card .way-box > div:first-child, .job-card p.way { break-after: avoid; break-inside: avoid; }
.job-card .torquing { display: flex; flex-wrap: wrap; gap: 2mm 6mm; align-items: flex-start; margin-top: 1.5mm; break-inside: avoid; }
.job-card .torquing figure { flex: none; max-width: 100%; }
.job-card .torquing svg { display: block; max-width: 100%; height: auto; font-family: system-ui, "Segoe UI", Roboto, "Noto Sans", "Liberation Sans", Arial, sans-serif; }
.job-card .order { flex: 1 1 70mm; min-width: min-content; max-width: 100%; }
.job-card .holes { font-size: 13pt; line-height: 1.5; }
.job-card .holes.many { font-size: 11pt; line-height: 1.3; }
.job-card .note { color: #222; margin-bottom: 1.5mm; }
.job-card .passes :is(th, td) { padding-inline: 1mm; }
.job-card :is(.passes, .shims) { width: auto; margin-top: 1.5mm; margin-bottom: 0; break-inside: avoid; }
.job-card :is(.shims.long, .statement:has(.shims.long)) { break-inside: auto; }

@media screen {
  .job-card { max-width: 190mm; margin: 0 auto; padding: 6mm clamp(3mm, 4vw, 10mm); }
  .job-card [data-line]:target { outline: 0.8mm solid #000; }
}
@media screen and (max-width: 130mm) { .job-card :is(.tray-map, .have) { grid-template-columns: 1fr; } }
@media print {
  /* A sheet ends between two pixels: what stands in the last one is cut. */
  .job-card { padding-right: 1px; }
  .job-card .unseen { display: none; }
  .job-card :is(.step, .under) { display: table; width: 100%; table-layout: fixed; }
  .job-card :is(.step > header, .under > ul) { display: table-header-group; }
}
`;
