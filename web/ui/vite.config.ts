/// <reference types="vitest/config" />
import { defineConfig } from "vite";

// The pages are built into a folder of their own; scripts/place.mjs then puts
// them beside ../dist/notice.html, which is committed and must stay.
export default defineConfig({
  base: "/",
  build: {
    outDir: "build",
    emptyOutDir: true,
    target: "es2022",
    cssTarget: ["chrome123", "firefox120", "safari17.5"],
    assetsInlineLimit: 0,
    reportCompressedSize: true,
  },
  server: { proxy: { "/api": { target: "http://127.0.0.1:8080", ws: true } } },
  // the browser's tests wait more than they work: two files at once, on two cores as well
  // and no test fails because the machine is busy
  test: { environment: "happy-dom", include: ["test/**/*.test.{ts,tsx}"], maxWorkers: 2, testTimeout: 60_000 },
});
