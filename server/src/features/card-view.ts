import type { CardOptions } from '../outputs/card.ts';
import { card, cardParts } from '../outputs/card.ts';
import { type CardFile, type CardParams, type Page, requests } from '../requests.ts';
import type { Snapshot } from '../snapshot.ts';
import { feature } from './feature.ts';

const optionsOf = (snapshot: Snapshot, { code, paper }: CardParams): CardOptions => ({
  findings: snapshot.judged.findings,
  paper: paper === 'letter' ? 'letter' : 'a4',
  // A code that the procedure has lost since the view was opened: the card is for all of them again.
  code: code !== undefined && snapshot.model.codes.includes(code) ? code : undefined,
  file: snapshot.file.name,
});

/** The job card in the pieces that a view puts together. */
export function cardPage(snapshot: Snapshot, params: CardParams): Page {
  const { model, judged } = snapshot;
  return { ...cardParts(model, judged.ledger, optionsOf(snapshot, params)), codes: model.codes };
}

/** The job card as a page of its own, as `fettle card` writes it. */
export function cardFile(snapshot: Snapshot, params: CardParams): CardFile {
  const { model, judged } = snapshot;
  return {
    html: card(model, judged.ledger, optionsOf(snapshot, params)),
    errors: judged.findings.filter(({ severity }) => severity === 'error').length,
  };
}

export const cardView = feature<CardParams, Page>(requests.card, {}, cardPage);
export const cardForFile = feature<CardParams, CardFile>(requests.cardFile, {}, cardFile);
