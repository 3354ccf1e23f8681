// The place in 3-D: tank, water, lamp at its height, light on planes, floor and walls, and the edges of each lens's light.
// Things are built anew only when the place or the board changes; another light only changes pixels. Nothing is drawn
// while nothing moves.
import {
  AmbientLight, BoxGeometry, BufferGeometry, Color, CylinderGeometry, DataTexture, DirectionalLight, DoubleSide, BackSide, FrontSide, EdgesGeometry, ExtrudeGeometry,
  Float32BufferAttribute, Group, InstancedMesh, LineBasicMaterial, LineSegments, Material, Matrix4, Mesh, MeshBasicMaterial, MeshLambertMaterial, NearestFilter, Path, PerspectiveCamera,
  PlaneGeometry, Quaternion, Raycaster, Scene, Shape, SphereGeometry, SRGBColorSpace, Vector2, Vector3, WebGLRenderer,
} from 'three';
import { Board, Channel, Emitter, Installation } from './api';
import { fill } from './ramp';

/** Sheet is light on a rectangle: level at the height `at`, or upright along x (at y) or across (at x), from `low` upwards. */
export interface Sheet {
  key: string; title: string; kind: 'level' | 'along' | 'across'; at: number; low: number; length: number; width: number; x0?: number; y0?: number;
  nx: number; ny: number; values: number[]; hi: number; colours: Uint32Array; side?: 'front' | 'back';
}
export interface Model {
  installation: Installation; board: Board; emitters: Emitter[]; channels: Channel[]; sheets: Sheet[]; room?: { x0: number; x1: number; y0: number; y1: number; floor: number };
  rays: boolean; mark: [number, number, number] | null;
}
export interface Hit { key: string; i: number; j: number }
export interface View { show(m: Model): void; end(): void; turn(yaw: number, pitch: number): void; near(by: number): void; look(from: 'front' | 'above' | 'side'): void }

export function build(box: HTMLElement, onHit: (h: Hit | null) => void): View {
  const renderer = new WebGLRenderer({ antialias: true, alpha: true });
  renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
  box.append(renderer.domElement);
  const scene = new Scene(), camera = new PerspectiveCamera(38, 1, 0.01, 100);
  scene.add(new AmbientLight(0xffffff, 1.6));
  const sun = new DirectionalLight(0xffffff, 1.4);
  sun.position.set(1, 2, 1.5);
  scene.add(sun);
  let things = new Group(), rays = new Group();
  const planes = new Group(), painted = new Map<string, { mesh: Mesh; texture: DataTexture; pixels: Uint32Array; shape: string; edge: LineSegments; of: number[]; hi: number }>();
  // What is drawn when: solid things, water over them, then planes, opaque, so that their colours are those of their scale
  // whatever lies before them, and lines and the probe over all.
  const order = { water: 1, planes: 2, lines: 3, probe: 4 };
  const mark = new Mesh(new SphereGeometry(1, 16, 12), new MeshBasicMaterial({ color: 0xffffff, transparent: true }));
  const rim = new Mesh(new SphereGeometry(1.35, 16, 12), new MeshBasicMaterial({ color: 0x000000, side: BackSide, transparent: true }));
  mark.renderOrder = rim.renderOrder = order.probe;
  mark.add(rim);
  mark.visible = false;
  scene.add(things, rays, planes, mark);
  let yaw = 0.6, pitch = 0.35, reach = 2.2, size = 1;
  const middle = new Vector3();
  const css = (name: string) => new Color(getComputedStyle(document.documentElement).getPropertyValue(name).trim());

  let frame = 0;
  const draw = () => {
    if (frame) return;
    frame = requestAnimationFrame(() => {
      frame = 0;
      const w = box.clientWidth, h = box.clientHeight;
      if (w === 0 || h === 0) return;
      renderer.setSize(w, h, false);
      camera.aspect = w / h;
      const d = reach * size * Math.max(1, 1.1 / camera.aspect);
      camera.position.set(middle.x + d * Math.cos(pitch) * Math.sin(yaw), middle.y + d * Math.sin(pitch), middle.z + d * Math.cos(pitch) * Math.cos(yaw));
      camera.lookAt(middle);
      camera.updateProjectionMatrix();
      renderer.render(scene, camera);
    });
  };
  const turn = (dy: number, dp: number) => { yaw += dy; pitch = Math.min(1.5, Math.max(-0.3, pitch + dp)); draw(); };
  const near = (by: number) => { reach = Math.min(14, Math.max(0.5, reach * by)); draw(); };
  const look = (from: 'front' | 'above' | 'side') => { [yaw, pitch] = { front: [0, 0.12], above: [0, 1.5], side: [Math.PI / 2, 0.12] }[from] as [number, number]; draw(); };

  // A pointer that only moves over a plane reads it; one that is held turns the scene, and one that is let go where it came
  // down reads too, for fingers.
  const fingers = new Map<number, [number, number]>();
  const el = renderer.domElement, ray = new Raycaster();
  let moved = 0;
  const probe = (e: PointerEvent) => {
    const r = el.getBoundingClientRect();
    ray.setFromCamera(new Vector2(((e.clientX - r.left) / r.width) * 2 - 1, 1 - ((e.clientY - r.top) / r.height) * 2), camera);
    const hit = ray.intersectObjects(planes.children.filter((o) => o instanceof Mesh), false)[0];
    if (!hit?.uv) return onHit(null);
    const { key, nx, ny } = hit.object.userData as { key: string; nx: number; ny: number };
    onHit({ key, i: Math.min(nx - 1, Math.floor(hit.uv.x * nx)), j: Math.min(ny - 1, Math.floor(hit.uv.y * ny)) });
  };
  const spread = () => { const [a, b] = [...fingers.values()]; return a && b ? Math.hypot(a[0] - b[0], a[1] - b[1]) : 0; };
  el.addEventListener('pointerdown', (e) => { fingers.set(e.pointerId, [e.clientX, e.clientY]); moved = 0; el.setPointerCapture(e.pointerId); });
  el.addEventListener('pointermove', (e) => {
    const was = fingers.get(e.pointerId);
    if (!was) { if (e.pointerType === 'mouse') probe(e); return; }
    const before = spread();
    fingers.set(e.pointerId, [e.clientX, e.clientY]);
    moved += Math.hypot(e.clientX - was[0], e.clientY - was[1]);
    if (fingers.size === 1) turn(-(e.clientX - was[0]) * 0.008, (e.clientY - was[1]) * 0.006);
    else if (before > 0 && spread() > 0) near(before / spread());
  });
  el.addEventListener('pointerup', (e) => { fingers.delete(e.pointerId); if (moved < 6) probe(e); });
  el.addEventListener('pointercancel', (e) => fingers.delete(e.pointerId));
  el.addEventListener('wheel', (e) => { e.preventDefault(); near(Math.exp(e.deltaY * 0.001)); }, { passive: false });
  const watch = new ResizeObserver(draw);
  watch.observe(box);
  const dark = matchMedia('(prefers-color-scheme: dark)');
  let shown: Model | null = null, built = '', lit = '';
  const theme = () => { built = lit = ''; if (shown) show(shown); };
  dark.addEventListener('change', theme);

  const free = (g: Group) => {
    g.traverse((o) => {
      const m = o as Mesh;
      m.geometry?.dispose();
      if (m instanceof InstancedMesh) m.dispose();
      (m.material as Material | undefined)?.dispose();
    });
    g.removeFromParent();
  };
  function edges(w: number, h: number, d: number, y: number, colour: Color) {
    const b = new BoxGeometry(w, h, d);
    const e = new LineSegments(new EdgesGeometry(b), new LineBasicMaterial({ color: colour }));
    b.dispose();
    e.position.y = y;
    return e;
  }
  const down = new Vector3(0, -1, 0);
  /** toward turns a point or a direction of the installation into the scene's. */
  const toward = ([x, y, z]: [number, number, number]) => new Vector3(x, z, -y);
  const lens = (p: Installation) => Math.max(p.water_m, p.substrate_m) + p.hanging_m;

  /** plate is the board, with its holes, lying level. */
  function plate(b: Board): BufferGeometry {
    const s = new Shape();
    if (b.corners?.length) s.setFromPoints(b.corners.map(([x, y]) => new Vector2(x, y)));
    else if (b.shape === 'disc') s.absarc(0, 0, b.length_m / 2, 0, 2 * Math.PI);
    else s.setFromPoints([[-1, -1], [1, -1], [1, 1], [-1, 1]].map(([x, y]) => new Vector2((x! * b.length_m) / 2, (y! * b.width_m) / 2)));
    for (const h of b.holes ?? []) {
      const p = new Path();
      if (h.diameter_m) p.absarc(h.x_m, h.y_m, h.diameter_m / 2, 0, 2 * Math.PI, true);
      else p.setFromPoints([[-1, -1], [-1, 1], [1, 1], [1, -1]].map(([x, y]) => new Vector2(h.x_m + (x! * (h.length_m ?? 0)) / 2, h.y_m + (y! * (h.width_m ?? 0)) / 2)));
      s.holes.push(p);
    }
    const g = new ExtrudeGeometry(s, { depth: 0.004, bevelEnabled: false, curveSegments: 32 });
    g.rotateX(-Math.PI / 2);
    return g;
  }

  /** sink is the lamp's, standing on its base, with its fins or pins and the outline of a housing about it. */
  function sink(m: Model): Group {
    const g = new Group(), k = m.installation.sink, metal = css('--lw-loss');
    const plain = !k.fins && !k.pins, base = plain ? 0.03 : k.base_m;
    const foot = new Mesh(new BoxGeometry(k.length_m, base, k.width_m), new MeshLambertMaterial({ color: metal }));
    foot.position.y = base / 2;
    g.add(foot);
    const many = (shape: BufferGeometry, at: [number, number][], height: number) => {
      const all = new InstancedMesh(shape, new MeshLambertMaterial({ color: metal }), at.length);
      at.forEach(([x, z], i) => all.setMatrixAt(i, new Matrix4().setPosition(x, base + height / 2, z)));
      g.add(all);
    };
    if (k.fins) {
      const { count, height_m, thickness_m } = k.fins;
      many(new BoxGeometry(k.length_m, height_m, thickness_m), Array.from({ length: count }, (_, i) => [0, ((k.width_m - thickness_m) * (2 * i - count + 1)) / (2 * (count - 1))]), height_m);
    } else if (k.pins) {
      const { diameter_m, height_m, across_m, along_m, staggered } = k.pins, at: [number, number][] = [];
      const rows = Math.max(1, Math.min(60, Math.floor((k.length_m - diameter_m) / along_m) + 1)), cols = Math.max(1, Math.min(60, Math.floor((k.width_m - diameter_m) / across_m) + 1));
      for (let i = 0; i < rows; i++) for (let j = 0; j < cols; j++) at.push([(i - (rows - 1) / 2) * along_m, (j - (cols - 1) / 2 + (staggered ? (i % 2 ? 0.25 : -0.25) : 0)) * across_m]);
      many(new CylinderGeometry(diameter_m / 2, diameter_m / 2, height_m, 10), at, height_m);
    }
    const h = k.housing;
    if (h) { // upright faces: as high as stated, and as far around as their area takes
      const around = h.area_m2 / h.height_m, l = (around / 2) * (k.length_m / (k.length_m + k.width_m));
      g.add(edges(l, h.height_m, around / 2 - l, h.height_m / 2 - 0.01, css('--lw-soft')));
    }
    return g;
  }

  function solid(m: Model) {
    free(things);
    things = new Group();
    const p = m.installation, b = m.board, top = p.kind === 'tank' ? p.height_m : 0.005;
    const ink = m.room ? new Color(0xffffff) : css('--lw-ink'); // most of a room about a lamp is dark
    things.add(edges(p.length_m, top, p.width_m, top / 2, ink));
    if (p.kind === 'tank' && p.substrate_m > 0) {
      const g = new Mesh(new BoxGeometry(p.length_m, p.substrate_m, p.width_m), new MeshLambertMaterial({ color: css('--lw-ground') }));
      g.position.y = p.substrate_m / 2 - 0.001;
      things.add(g);
    }
    if (p.water_m > p.substrate_m) {
      const h = p.water_m - p.substrate_m;
      const w = new Mesh(new BoxGeometry(p.length_m, h, p.width_m), new MeshBasicMaterial({ color: css('--lw-water'), transparent: true, opacity: 0.3, depthWrite: false }));
      w.position.y = p.substrate_m + h / 2;
      w.renderOrder = order.water;
      things.add(w);
      const line = edges(p.length_m, 0.0005, p.width_m, p.water_m, css('--lw-water'));
      things.add(line);
    }
    const z = lens(p);
    // The lamp hangs by the centre of its board, about which it is tilted.
    const lamp = new Group(), t = p.lamp_tilt_rad ?? 0, to = p.lamp_towards_rad ?? 0;
    lamp.position.set(p.offset_x_m, z, -p.offset_y_m);
    lamp.quaternion.setFromUnitVectors(down, toward([Math.sin(t) * Math.cos(to), Math.sin(t) * Math.sin(to), -Math.cos(t)]));
    const board = new Mesh(plate(b), new MeshLambertMaterial({ color: css('--lw-soft'), side: DoubleSide }));
    board.position.y = 0.014;
    const above = sink(m);
    above.position.set(b.contact_x_m, 0.019, -b.contact_y_m);
    lamp.add(above, board);
    things.add(lamp);
    if (m.room) {
      const r = m.room, drop = -r.floor;
      if (drop > 0.05) { // the stand
        const stand = edges(p.length_m, drop - p.glass_m, p.width_m, -p.glass_m - (drop - p.glass_m) / 2, ink);
        things.add(stand);
      }
    } else {
      const floor = new Mesh(new PlaneGeometry(4 * p.length_m, 4 * p.width_m), new MeshLambertMaterial({ color: css('--lw-panel'), side: DoubleSide }));
      floor.rotation.x = -Math.PI / 2;
      floor.position.y = -0.008;
      things.add(floor);
    }
    scene.add(things);
    size = Math.max(p.length_m, p.width_m, z);
    middle.set(0, z * 0.5, 0);
  }

  /** beams are the lenses and the edges of half their intensity, straight in air along each one's axis. */
  function beams(m: Model) {
    free(rays);
    rays = new Group();
    const p = m.installation, z = lens(p);
    for (const e of m.emitters) {
      const colour = new Color(m.channels.find((c) => c.name === e.channel)?.colour ?? '#888');
      const at = toward(e.lens_at_m ?? [p.offset_x_m + e.x_m, p.offset_y_m + e.y_m, z]), axis = toward(e.aim ?? [0, 0, -1]);
      const q = new Quaternion().setFromUnitVectors(down, axis);
      const d = new Mesh(new CylinderGeometry(0.004, 0.006, 0.012, 16), new MeshBasicMaterial({ color: colour }));
      d.position.copy(at).addScaledVector(axis, -0.007);
      d.quaternion.copy(q);
      rays.add(d);
      if (!m.rays) continue;
      const half = Math.min(e.beam_rad / 2, 1.4), points: number[] = [], n = 32, ends: Vector3[] = [];
      for (let k = 0; k < n; k++) {
        const a = (2 * Math.PI * k) / n;
        const v = new Vector3(Math.sin(half) * Math.cos(a), -Math.cos(half), Math.sin(half) * Math.sin(a)).applyQuaternion(q);
        // To the level of the water, or as far as the lamp hangs high where the edge does not come down.
        const far = v.y < -0.15 ? Math.min((at.y - z + p.hanging_m) / -v.y, 2.5 * p.hanging_m) : 1.5 * p.hanging_m;
        ends.push(at.clone().addScaledVector(v, far));
      }
      ends.forEach((v, k) => {
        points.push(...v.toArray(), ...ends[(k + 1) % n]!.toArray());
        if (k % 8 === 0) points.push(...at.toArray(), ...v.toArray());
      });
      if (axis.y > -0.9999) points.push(...at.toArray(), ...at.clone().addScaledVector(axis, (at.y - z + p.hanging_m) / Math.max(0.3, -axis.y)).toArray());
      const g = new BufferGeometry();
      g.setAttribute('position', new Float32BufferAttribute(points, 3));
      const lines = new LineSegments(g, new LineBasicMaterial({ color: colour, transparent: true, opacity: 0.65 }));
      lines.renderOrder = order.lines;
      rays.add(lines);
    }
    scene.add(rays);
  }

  function sheets(m: Model) {
    const keep = new Set(m.sheets.map((s) => s.key));
    const drop = (key: string) => {
      const o = painted.get(key)!;
      for (const x of [o.mesh, o.edge]) { planes.remove(x); x.geometry.dispose(); (x.material as Material).dispose(); }
      o.texture.dispose();
      painted.delete(key);
    };
    for (const key of [...painted.keys()]) if (!keep.has(key)) drop(key);
    for (const s of m.sheets) {
      const shape = [s.kind, s.length, s.width, s.nx, s.ny, s.side].join();
      let o = painted.get(s.key);
      if (o && o.shape !== shape) { drop(s.key); o = undefined; }
      if (!o) {
        const pixels = new Uint32Array(s.nx * s.ny);
        const texture = new DataTexture(new Uint8Array(pixels.buffer), s.nx, s.ny);
        texture.magFilter = NearestFilter;
        texture.colorSpace = SRGBColorSpace;
        const see = s.side === undefined ? DoubleSide : s.side === 'front' ? FrontSide : BackSide;
        const mesh = new Mesh(new PlaneGeometry(s.length, s.width), new MeshBasicMaterial({ map: texture, side: see, transparent: true }));
        mesh.renderOrder = order.planes;
        mesh.userData = { key: s.key, nx: s.nx, ny: s.ny };
        const edge = new LineSegments(new EdgesGeometry(mesh.geometry), new LineBasicMaterial({ color: css('--lw-ink'), transparent: true }));
        edge.renderOrder = order.lines;
        edge.visible = s.side === undefined;
        o = { mesh, texture, pixels, shape, edge, of: [], hi: 0 };
        planes.add(mesh, edge);
        painted.set(s.key, o);
      }
      if (o.of !== s.values || o.hi !== s.hi) {
        fill(o.pixels, s.values, s.nx, s.ny, 0, s.hi, s.colours, true);
        o.texture.needsUpdate = true;
        o.of = s.values;
        o.hi = s.hi;
      }
      for (const x of [o.mesh, o.edge]) {
        const cx = (s.x0 ?? -s.length / 2) + s.length / 2, cy = (s.y0 ?? -s.width / 2) + s.width / 2;
        if (s.kind === 'level') { x.rotation.set(-Math.PI / 2, 0, 0); x.position.set(cx, s.at, -cy); }
        else if (s.kind === 'along') { x.rotation.set(0, 0, 0); x.position.set(cx, s.low + s.width / 2, -s.at); }
        else { x.rotation.set(0, Math.PI / 2, 0); x.position.set(s.at, s.low + s.width / 2, -cx); }
      }
    }
  }

  function show(m: Model) {
    if (m.room && !shown?.room) reach = Math.max(reach, 3.4); // far enough to see where the light falls
    shown = m;
    const { installation, board } = m;
    const now = JSON.stringify([installation, board, m.room]);
    if (now !== built) { built = now; solid(m); }
    const light = JSON.stringify([installation, m.rays, m.emitters.map((e) => [e.x_m, e.y_m, e.beam_rad, e.lens_at_m, e.aim, e.channel]), m.channels.map((c) => c.colour)]);
    if (light !== lit) { lit = light; beams(m); }
    sheets(m);
    mark.visible = m.mark !== null;
    if (m.mark) { mark.position.set(m.mark[0], m.mark[2], -m.mark[1]); mark.scale.setScalar(size * 0.009); }
    draw();
  }
  return {
    show, turn, near, look,
    end() {
      cancelAnimationFrame(frame);
      watch.disconnect();
      dark.removeEventListener('change', theme);
      for (const o of painted.values()) { o.mesh.geometry.dispose(); o.texture.dispose(); (o.mesh.material as Material).dispose(); o.edge.geometry.dispose(); (o.edge.material as Material).dispose(); }
      free(things);
      free(rays);
      renderer.dispose();
    },
  };
}
