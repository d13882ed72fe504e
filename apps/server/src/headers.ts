/**
 * What every answer tells the browser: run only what this server sends, in no other page's frame, guessing no types.
 * `wasm-unsafe-eval` stands in the policy only when the built screens hold WebAssembly (see ADR 0007).
 */
import { existsSync, readdirSync } from 'node:fs';
import { join } from 'node:path';

function contentSecurityPolicy(wasm: boolean): string {
  return [
    "default-src 'none'",
    `script-src 'self'${wasm ? " 'wasm-unsafe-eval'" : ''}`,
    "style-src 'self'",
    "img-src 'self' blob: data:",
    "font-src 'self'",
    "connect-src 'self'",
    "worker-src 'self'",
    "manifest-src 'self'",
    "form-action 'self'",
    "base-uri 'none'",
    "frame-ancestors 'none'",
  ].join('; ');
}

/** True when the built screens hold a WebAssembly file. */
export function holdsWasm(webFolder: string | undefined): boolean {
  const assets = webFolder === undefined ? undefined : join(webFolder, 'assets');
  return (
    assets !== undefined && existsSync(assets) && readdirSync(assets).some((name) => name.endsWith('.wasm'))
  );
}

export function securityHeaders(wasm: boolean): Readonly<Record<string, string>> {
  return {
    'content-security-policy': contentSecurityPolicy(wasm),
    'x-content-type-options': 'nosniff',
    'referrer-policy': 'no-referrer',
    'cross-origin-opener-policy': 'same-origin',
    'cross-origin-resource-policy': 'same-origin',
    'permissions-policy': 'geolocation=(), microphone=(), payment=(), usb=()',
  };
}
