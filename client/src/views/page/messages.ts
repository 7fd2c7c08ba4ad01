/** What the extension tells a view's page. */
export type ToPage =
  | { readonly type: 'content'; readonly style: string; readonly body: string; readonly state: PageState }
  /** The cursor's line in the source, from 0; to be brought into sight even where it is the line of before. */
  | { readonly type: 'cursor'; readonly line: number; readonly reveal?: boolean }
  /** In place of content that cannot be had. */
  | { readonly type: 'trouble'; readonly text: string };

/** What a page tells the extension. */
export type FromPage =
  | { readonly type: 'ready' }
  /** To this line of the source, from 0. */
  | { readonly type: 'go'; readonly line: number };

/** What brings a page back after the window was closed. */
export interface PageState {
  readonly source: string;
  readonly code?: string;
}
