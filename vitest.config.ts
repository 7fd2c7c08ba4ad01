import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    include: ['tests/**/*.test.ts'],
    exclude: ['tests/editor/**', 'node_modules/**', '.cache/**'],
    // A busy machine makes tests slow, not wrong.
    testTimeout: 180_000,
    hookTimeout: 180_000,
    expect: { poll: { timeout: 20_000 } },
  },
});
