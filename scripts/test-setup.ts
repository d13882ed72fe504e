// Test-only: switches one hazard control off when EBBLINE_CONTROL_OFF names it, so that
// scripts/check-hazards.mjs can see that the control's tests fail without it.
import { switchControlOff } from '../packages/core/src/quantity/control.ts';

const off = process.env['EBBLINE_CONTROL_OFF'];
if (off) switchControlOff(off);
