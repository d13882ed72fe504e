/**
 * Draws a body with the graphics card. The only file that knows `three`: imported when a body is first shown, so that no
 * page is heavier for it.
 *
 * Frame     the body's x, y, z (z from front to back) become right, up and towards the viewer negated, so that the front
 *           of the person faces the viewer and nothing is mirrored
 * Units     mm; one unit of the scene is one mm, so that the scale bar is exact
 */
import {
  BufferAttribute,
  BufferGeometry,
  DoubleSide,
  Group,
  LineLoop,
  Mesh,
  OrthographicCamera,
  Scene,
  ShaderMaterial,
  Vector3,
  WebGLRenderer,
} from 'three';
import type { Body } from '@ebbline/imaging';
import type { Held } from './turning.ts';

/** Colours as `#rrggbb`. */
export interface BodyColours {
  readonly seen: string;
  readonly paper: string;
  readonly ink: string;
  readonly contour: string;
}

/** A word that stands beside the body, and where it stands now, CSS pixels from the middle of the drawing. */
export interface Placed {
  readonly name: 'head' | 'feet' | 'front' | 'back';
  readonly x: number;
  readonly y: number;
}

export interface BodyScene {
  /** Takes another body in place of the one before. `contours` are closed lines, one a plane, like `verticesMm`. */
  readonly show: (body: Body, contours: readonly Float64Array[]) => void;
  /** Draws once, held so; nothing moves on its own. */
  readonly draw: (
    held: Held,
    planes: boolean,
  ) => { readonly mmPerPx: number; readonly placed: readonly Placed[] };
  readonly recolour: (colours: BodyColours) => void;
  readonly dispose: () => void;
}

const rgb = (hex: string): Vector3 => {
  const value = Number.parseInt(hex.trim().slice(1), 16);
  return new Vector3(((value >> 16) & 255) / 255, ((value >> 8) & 255) / 255, (value & 255) / 255);
};

const vertexShader = `
attribute float hidden;
varying float vHidden;
varying vec3 vNormal;
void main() {
  vHidden = hidden;
  vNormal = normalMatrix * normal;
  gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
}`;

/** Seen: plain, shaded. Not seen: paper with slant lines, and a line where it begins. */
const fragmentShader = `
uniform vec3 seen;
uniform vec3 paper;
uniform vec3 ink;
uniform float period;
varying float vHidden;
varying vec3 vNormal;
void main() {
  vec3 normal = normalize(vNormal) * (gl_FrontFacing ? 1.0 : -1.0);
  float light = clamp(dot(normal, normalize(vec3(-0.45, 0.65, 0.75))), 0.0, 1.0);
  vec3 plain = seen * (0.55 + 0.55 * light);
  float stripe = fract((gl_FragCoord.x - gl_FragCoord.y) / period);
  vec3 hatched = stripe < 0.26 ? ink : paper * (0.78 + 0.22 * light);
  float edge = abs(vHidden - 0.5) / max(fwidth(vHidden), 1e-5);
  vec3 colour = vHidden > 0.5 ? hatched : plain;
  if (edge < 1.0 || normal.z < 0.2) colour = ink;
  gl_FragColor = vec4(colour, 1.0);
}`;

const lineVertexShader = `
void main() { gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0); }`;
const lineFragmentShader = `
uniform vec3 contour;
void main() { gl_FragColor = vec4(contour, 1.0); }`;

/** Outlines stand off the surface by this, so that they are not swallowed by it, mm. */
const standOffMm = 0.8;

function bodyGeometry(body: Body): BufferGeometry {
  const position = new Float32Array(body.verticesMm.length);
  for (let place = 0; place < position.length; place += 3) {
    position[place] = (body.verticesMm[place] as number) - body.centreMm[0];
    position[place + 1] = (body.verticesMm[place + 1] as number) - body.centreMm[1];
    position[place + 2] = body.centreMm[2] - (body.verticesMm[place + 2] as number);
  }
  // One axis is turned round, so every triangle is too.
  const index = new Uint32Array(body.triangles.length);
  for (let face = 0; face < index.length; face += 3) {
    index[face] = body.triangles[face] as number;
    index[face + 1] = body.triangles[face + 2] as number;
    index[face + 2] = body.triangles[face + 1] as number;
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(position, 3));
  geometry.setAttribute('hidden', new BufferAttribute(body.hidden, 1));
  geometry.setIndex(new BufferAttribute(index, 1));
  geometry.computeVertexNormals();
  return geometry;
}

function lineGeometry(contour: Float64Array, body: Body): BufferGeometry {
  const position = new Float32Array(contour.length);
  for (let place = 0; place < contour.length; place += 3) {
    const x = (contour[place] as number) - body.centreMm[0];
    const y = (contour[place + 1] as number) - body.centreMm[1];
    const z = body.centreMm[2] - (contour[place + 2] as number);
    const out = 1 + standOffMm / Math.max(1, Math.hypot(x, y, z));
    position.set([x * out, y * out, z * out], place);
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(position, 3));
  return geometry;
}

/** The middle of a body's box, and the corner furthest from it, mm in the scene. */
function boxOf(geometry: BufferGeometry): { readonly middle: Vector3; readonly reachMm: number } {
  geometry.computeBoundingBox();
  const middle = geometry.boundingBox?.getCenter(new Vector3()) ?? new Vector3();
  const corners = geometry.getAttribute('position');
  let reachMm = 1;
  for (let corner = 0; corner < corners.count; corner += 1)
    reachMm = Math.max(
      reachMm,
      Math.hypot(
        corners.getX(corner) - middle.x,
        corners.getY(corner) - middle.y,
        corners.getZ(corner) - middle.z,
      ),
    );
  return { middle, reachMm };
}

/** Which way each word lies in the scene. */
const marks: readonly (readonly [Placed['name'], readonly [number, number, number]])[] = [
  ['head', [0, 1, 0]],
  ['feet', [0, -1, 0]],
  ['front', [0, 0, 1]],
  ['back', [0, 0, -1]],
];
/** A word whose way points almost at the viewer, or away, stands nowhere beside the body. */
const leastAside = 0.45;

/** @throws when there is no graphics card to draw with */
export function bodyScene(canvas: HTMLCanvasElement, colours: BodyColours): BodyScene {
  const renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
  const ratio = Math.min(2, globalThis.devicePixelRatio || 1);
  renderer.setPixelRatio(ratio);
  const uniforms = {
    seen: { value: new Vector3() },
    paper: { value: new Vector3() },
    ink: { value: new Vector3() },
    contour: { value: new Vector3() },
    period: { value: 9 * ratio },
  };
  const solidMaterial = new ShaderMaterial({ vertexShader, fragmentShader, uniforms, side: DoubleSide });
  const lineMaterial = new ShaderMaterial({
    vertexShader: lineVertexShader,
    fragmentShader: lineFragmentShader,
    uniforms,
  });
  const scene = new Scene();
  const group = new Group();
  const lines = new Group();
  group.add(lines);
  scene.add(group);
  const camera = new OrthographicCamera();
  const made: BufferGeometry[] = [];
  let solid: Mesh | undefined;
  let reachMm = 1;

  const clear = (): void => {
    if (solid) group.remove(solid);
    lines.clear();
    for (const geometry of made.splice(0)) geometry.dispose();
  };
  const recolour = (next: BodyColours): void => {
    uniforms.seen.value = rgb(next.seen);
    uniforms.paper.value = rgb(next.paper);
    uniforms.ink.value = rgb(next.ink);
    uniforms.contour.value = rgb(next.contour);
  };
  recolour(colours);

  return {
    recolour,
    show: (body, contours) => {
      clear();
      const geometry = bodyGeometry(body);
      made.push(geometry);
      solid = new Mesh(geometry, solidMaterial);
      group.add(solid);
      for (const contour of contours) {
        const line = lineGeometry(contour, body);
        made.push(line);
        lines.add(new LineLoop(line, lineMaterial));
      }
      const box = boxOf(geometry);
      reachMm = box.reachMm;
      // Turned about its own middle.
      solid.position.copy(box.middle).negate();
      lines.position.copy(solid.position);
      camera.position.z = 4 * reachMm;
      camera.near = 0.1;
      camera.far = 8 * reachMm;
    },
    draw: (held, planes) => {
      const width = Math.max(1, canvas.parentElement?.clientWidth ?? canvas.clientWidth);
      const height = Math.max(1, canvas.parentElement?.clientHeight ?? canvas.clientHeight);
      renderer.setSize(width, height);
      const mmPerPx = (2.5 * reachMm) / Math.min(width, height) / held.larger;
      camera.left = (-width / 2) * mmPerPx;
      camera.right = (width / 2) * mmPerPx;
      camera.top = (height / 2) * mmPerPx;
      camera.bottom = (-height / 2) * mmPerPx;
      camera.updateProjectionMatrix();
      group.rotation.set((held.tipDeg * Math.PI) / 180, (held.turnDeg * Math.PI) / 180, 0, 'XYZ');
      group.updateMatrixWorld();
      lines.visible = planes;
      renderer.render(scene, camera);
      const placed: Placed[] = [];
      for (const [name, way] of marks) {
        const at = new Vector3(...way).applyMatrix4(group.matrixWorld);
        const aside = Math.hypot(at.x, at.y);
        if (aside < leastAside) continue;
        const out = (reachMm / mmPerPx + 14) / aside;
        placed.push({ name, x: at.x * out, y: -at.y * out });
      }
      return { mmPerPx, placed };
    },
    dispose: () => {
      clear();
      solidMaterial.dispose();
      lineMaterial.dispose();
      renderer.dispose();
      renderer.forceContextLoss();
    },
  };
}
