#!/usr/bin/env node
import { keepCompiled } from './compiled.ts';

keepCompiled();
// Not before: only what is loaded from here on comes out of what is kept.
await import('./program.ts');
