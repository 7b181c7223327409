/* The yardstick: the same shot as a plain C leapfrog - same elements, same contacts, same step, same number of steps.
   No timeline, traces or energy account. Compiled on the fly by yardstick.py with gcc -O3 -march=native, once with
   -DPLANES=1 for the shot in the bow's plane, once with -DPLANES=2 for the shot sideways too. */
#include <math.h>

typedef struct {
    double cos_slope, sin_slope, k, c, grip, snap, depth, loc_k, loc_c;           /* throat */
    double rest_x, rest_y, rest_k, rest_c, half_diameter, travel;                  /* rest */
    double mass, inertia, cx, cy, carried[8], hand_k, hand_c, hand_rk, hand_rc;    /* riser and hand */
    double force_x, force_y, gx, gy, hand_fx, hand_fy, hand_t;
    double floor_inertia;                                                          /* between the two edges */
    double time[3], delay[3];
    double roll, hold, groove_k, groove_c, outer, fold, tip_k[2], tip_c[2];        /* sideways: fingers, nock, arm, tips */
    double side_x, side_y, offset, side_k, preload, side_travel, seat, side_c;     /* side support */
    int first, wide, root_u, edge_u, root_l, tail, tip_u, tip_l;
} shot;

enum { UP, AWAY, FOLDED };  /* the arm */

static double over_zero(double value) { return value > 0 ? value : 0; }

static double fade(double since, double length) {
    if (since <= 0) return 1;
    if (since >= length) return 0;
    return 0.5 * (1 + cos(M_PI * since / length));
}

static double share(double value) { return value < 0 ? 0 : value > 1 ? 1 : value; }

/* share of a step about now that lies beyond a place */
static double share_after(double past, double stride) {
    return stride > 0 ? share(past / stride + 0.5) : past > 0;
}

static double edge(const shot *s, double d, double rate) {
    double push = s->k * d + s->c * rate, depth = -d, hold = 0;
    if (depth < 0.5 * s->snap) hold = s->grip;
    else if (depth < s->snap) hold = s->grip * (s->snap - depth) / (0.5 * s->snap);
    return push > -hold ? push : -hold;
}

static double beside(const shot *s, double p, double rate, double dt) {
    double in = over_zero(p), seated = fmax(s->seat, s->side_k) * in, sprung = s->preload + s->side_k * in;
    double spring = seated < sprung ? seated : sprung;
    spring += s->seat * over_zero(p - s->side_travel);
    return over_zero(spring + s->side_c * rate * share_after(p, rate * dt));
}

/* cell of the arrow over a place, -1 where there is none */
static int cell_over(const double *x, int a, int n, double at, int guess) {
    int j = guess < a ? a : guess;
    while (j < n - 2 && x[j + 1] < at) j++;
    while (j > a && x[j] > at) j--;
    return x[j] > at || x[j + 1] < at ? -1 : j;
}

void run(int n, int steps, double dt, const shot *s, const double *restrict weight,
         const double *restrict stretch, const double *restrict rest, const double *restrict least,
         const double *restrict loss, const double *restrict axial, const double *restrict bend,
         const double *restrict natural, const double *restrict bend_loss, const double *restrict inverse,
         double *restrict x, double *restrict y, double *restrict vx, double *restrict vy, double *restrict ax,
         double *restrict ay, double *restrict px, double *restrict py, double *restrict tx, double *restrict ty,
         double *restrict per, double *restrict turn, double *restrict gx, double *restrict gy,
         double *restrict moment, double *restrict fx, double *restrict fy,
         /* sideways; not touched in one plane */
         const double *restrict span, const double *restrict inverse_z, const double *restrict weight_z,
         double *restrict z, double *restrict vz, double *restrict az, double *restrict pz, double *restrict tz,
         double *restrict gz, double *restrict fz, double *restrict firm, double *restrict cosine) {
    double pose[3] = {s->cx, s->cy, 0}, rate[3] = {0}, last[3] = {0}, ahead[3];
    int node[4] = {s->root_u - 1, s->root_u, s->root_l, s->root_l + 1};
    int a = s->tail, u = s->edge_u, inside = 1, arm = UP, cell = s->tail;
    int bent = PLANES == 2 ? a : n - 1;  /* nodes before this one bend in their plane */
    double begin = x[a], half = 0.5 * dt, time = 0;
    for (int step = 0; step < steps; step++) {
        double supported = 1 - share_after(x[a] - begin - s->travel, dt * vx[a]);
        for (int i = 0; i < n; i++) {
            px[i] = vx[i] + half * ax[i];
            py[i] = vy[i] + half * ay[i];
            if (PLANES == 2) pz[i] = vz[i] + half * az[i];
        }
        for (int k = 0; k < 3; k++) ahead[k] = rate[k] + half * last[k];
        double c = cos(pose[2]), sn = sin(pose[2]);
        for (int k = 0; k < 4; k++) {
            double rx = s->carried[2 * k] - s->cx, ry = s->carried[2 * k + 1] - s->cy;
            double qx = c * rx - sn * ry, qy = sn * rx + c * ry;
            int i = node[k];
            x[i] = pose[0] + qx; y[i] = pose[1] + qy;
            px[i] = ahead[0] - ahead[2] * qy; py[i] = ahead[1] + ahead[2] * qx;
        }
        for (int j = 0; j < n - 1; j++) {
            double ex = x[j + 1] - x[j], ey = y[j + 1] - y[j], square = ex * ex + ey * ey, ez = 0, wz = 0;
            if (PLANES == 2) {
                ez = span[j] * (z[j + 1] - z[j]); wz = span[j] * (pz[j + 1] - pz[j]);
                square += ez * ez;
            }
            double length = sqrt(square), inv = 1 / length;
            double ux = ex * inv, uy = ey * inv, uz = ez * inv, wx = px[j + 1] - px[j], wy = py[j + 1] - py[j];
            double parting = wx * ux + wy * uy;
            if (PLANES == 2) parting += wz * uz;
            double pull = stretch[j] * (length - rest[j]);
            pull = pull > least[j] ? pull : least[j];
            pull += axial[j] * parting;
            tx[j] = ux; ty[j] = uy; per[j] = inv;
            turn[j] = (ux * wy - uy * wx) * inv;
            gx[j] = pull * ux + loss[j] * wx;
            gy[j] = pull * uy + loss[j] * wy;
            if (PLANES == 2) { tz[j] = uz; gz[j] = pull * uz + loss[j] * wz; }
        }
        moment[0] = moment[bent] = 0;
        for (int i = 1; i < bent; i++) {
            double cross = tx[i - 1] * ty[i] - ty[i - 1] * tx[i];
            double b = 2 * cross / (1 + tx[i - 1] * tx[i] + ty[i - 1] * ty[i]), slope = 1 + 0.25 * b * b;
            moment[i] = slope * (bend[i] * (b - natural[i]) + bend_loss[i] * slope * (turn[i] - turn[i - 1]));
        }
        for (int j = 0; j < bent; j++) {
            double shear = (moment[j] - moment[j + 1]) * per[j];
            gx[j] -= shear * ty[j];
            gy[j] += shear * tx[j];
        }
        if (PLANES == 2) {  /* the shaft: bends by the cosine between its cells; firm is zero at its ends */
            for (int i = a + 1; i < n - 1; i++) {
                double d = tx[i - 1] * tx[i] + ty[i - 1] * ty[i] + tz[i - 1] * tz[i], over = 1 / (1 + d);
                cosine[i] = d;
                firm[i] = 4 * bend[i] * over * over;
            }
            for (int j = a; j < n - 1; j++) {
                double one = per[j] * firm[j], two = per[j] * firm[j + 1], own = one * cosine[j] + two * cosine[j + 1];
                gx[j] -= one * tx[j - 1] + two * tx[j + 1] - own * tx[j];
                gy[j] -= one * ty[j - 1] + two * ty[j + 1] - own * ty[j];
                gz[j] -= one * tz[j - 1] + two * tz[j + 1] - own * tz[j];
            }
        }
        fx[0] = gx[0]; fy[0] = gy[0];
        for (int i = 1; i < n - 1; i++) {
            fx[i] = gx[i] - gx[i - 1];
            fy[i] = gy[i] - gy[i - 1];
        }
        fx[n - 1] = -gx[n - 2]; fy[n - 1] = -gy[n - 2];
        if (PLANES == 2) {
            fz[0] = gz[0] + weight_z[0];
            for (int i = 1; i < n - 1; i++) fz[i] = gz[i] - gz[i - 1] + weight_z[i];
            fz[n - 1] = weight_z[n - 1] - gz[n - 2];
        }
        for (int k = 0; k < 3; k++) {
            double left = fade(time - s->delay[k], s->time[k]);
            if (left > 0) {
                double out = PLANES == 2 ? s->hold + s->roll * share((time - s->delay[k]) / s->time[k]) : 0;
                for (int m = 0; m < s->wide; m++) {
                    double w = left * weight[k * s->wide + m];
                    fx[s->first + m] += w * s->force_x;
                    fy[s->first + m] += w * s->force_y;
                    if (PLANES == 2) fz[s->first + m] += w * out;
                }
            }
        }
        if (inside) {
            double ex = x[a + 1] - x[a], ey = y[a + 1] - y[a], hx = x[a + 2] - x[a + 1], hy = y[a + 2] - y[a + 1];
            double ee = ex * ex + ey * ey, hh = hx * hx + hy * hy, l1 = sqrt(ee), l2 = sqrt(hh);
            double along = (ex * hx + ey * hy) / (l1 * l2), square = 2.5 - 1.5 * along, size = sqrt(square);
            double a2 = -0.5 * (1.5 * along - 0.5) / square, a1 = 1 - a2;
            double dx = (1.5 * ex / l1 - 0.5 * hx / l2) / size, dy = (1.5 * ey / l1 - 0.5 * hy / l2) / size;
            double nx = s->cos_slope * dx + s->sin_slope * dy, ny = s->cos_slope * dy - s->sin_slope * dx;
            double w = a1 * (ex * (py[a + 1] - py[a]) - ey * (px[a + 1] - px[a])) / ee
                     + a2 * (hx * (py[a + 2] - py[a + 1]) - hy * (px[a + 2] - px[a + 1])) / hh;
            double ux = x[u] - x[a], uy = y[u] - y[a], lx = x[u + 1] - x[a], ly = y[u + 1] - y[a];
            double vux = px[u] - px[a], vuy = py[u] - py[a], vlx = px[u + 1] - px[a], vly = py[u + 1] - py[a];
            double du = ux * nx + uy * ny, dl = lx * nx + ly * ny, su = -ux * ny + uy * nx, sl = -lx * ny + ly * nx;
            double ru = vux * nx + vuy * ny + w * su, rl = vlx * nx + vly * ny + w * sl;
            double out = share_after(-s->depth - (du > dl ? du : dl), -dt * (du > dl ? ru : rl));
            double fu = edge(s, du, ru), fl = edge(s, dl, rl);
            double fs = s->loc_k * 0.5 * (su + sl)
                      + s->loc_c * (0.5 * (-(vux + vlx) * ny + (vuy + vly) * nx) - w * 0.5 * (du + dl));
            fs *= 1 - out;
            double qx = fu * nx - 0.5 * fs * ny, qy = fu * ny + 0.5 * fs * nx;
            double rx = fl * nx - 0.5 * fs * ny, ry = fl * ny + 0.5 * fs * nx;
            double couple = ux * qy - uy * qx + lx * ry - ly * rx;
            fx[u] -= qx; fy[u] -= qy; fx[u + 1] -= rx; fy[u + 1] -= ry;
            fx[a] += qx + rx; fy[a] += qy + ry;
            double t = a1 * couple / ee;
            fx[a] += t * ey; fy[a] -= t * ex; fx[a + 1] -= t * ey; fy[a + 1] += t * ex;
            t = a2 * couple / hh;
            fx[a + 1] += t * hy; fy[a + 1] -= t * hx; fx[a + 2] -= t * hy; fy[a + 2] += t * hx;
            if (PLANES == 2) {  /* the groove */
                double aside = 0.5 * (z[u] + z[u + 1]) - z[a], leaving = 0.5 * (pz[u] + pz[u + 1]) - pz[a];
                double push = (1 - out) * (s->groove_k * aside + s->groove_c * leaving);
                fz[a] += push; fz[u] -= 0.5 * push; fz[u + 1] -= 0.5 * push;
            }
            inside = out < 1;
        }
        double rx = c * (s->rest_x - s->cx) - sn * (s->rest_y - s->cy), ry = sn * (s->rest_x - s->cx) + c * (s->rest_y - s->cy);
        double at_x = pose[0] + rx, at_y = pose[1] + ry, f = 0, press = -1, past = 0;
        int over = cell_over(x, a, n, at_x, cell);
        cell = over;
        if (over >= 0) {
            int j = over;
            double width = x[j + 1] - x[j], xi = (at_x - x[j]) / width;
            press = at_y - (y[j] + xi * (y[j + 1] - y[j]) - s->half_diameter);
            double pressing = ahead[1] + ahead[2] * rx - (1 - xi) * py[j] - xi * py[j + 1];
            if (PLANES == 2) {
                past = (1 - xi) * z[j] + xi * z[j + 1] - s->outer;
                double along = (1 - xi) * px[j] + xi * px[j + 1] - (ahead[0] - ahead[2] * ry);
                double leaving = (1 - xi) * pz[j] + xi * pz[j + 1] - (z[j + 1] - z[j]) / width * along;
                supported = arm == UP ? 1 - share_after(past, dt * leaving) : 0;
                if (arm == FOLDED) { fz[j] += (1 - xi) * s->fold; fz[j + 1] += xi * s->fold; }
            }
            if (supported > 0) {
                f = supported * over_zero(s->rest_k * over_zero(press) + s->rest_c * pressing * share_after(press, pressing * dt));
                fy[j] += (1 - xi) * f; fy[j + 1] += xi * f;
            }
        }
        double sx = 0, st = 0;
        if (PLANES == 2) {
            if (arm == UP) arm = supported == 0 ? AWAY : UP;
            else if (over < 0) arm = AWAY;
            else if (arm == AWAY) arm = past > 0 ? AWAY : press > 0 ? FOLDED : UP;
            else arm = press <= 0 ? UP : past > 0 ? AWAY : FOLDED;
            double bx = c * (s->side_x - s->cx) - sn * (s->side_y - s->cy);
            double by = sn * (s->side_x - s->cx) + c * (s->side_y - s->cy), side_x = pose[0] + bx;
            int j = cell_over(x, a, n, side_x, cell);
            if (j >= 0) {
                double width = x[j + 1] - x[j], xi = (side_x - x[j]) / width, slope = (z[j + 1] - z[j]) / width;
                double along = (1 - xi) * px[j] + xi * px[j + 1] - (ahead[0] - ahead[2] * by);
                double p = s->offset - (z[j] + slope * (side_x - x[j]));
                double push = beside(s, p, slope * along - ((1 - xi) * pz[j] + xi * pz[j + 1]), dt);
                sx = slope * push;
                st = -by * sx;
                fz[j] += (1 - xi) * push; fz[j + 1] += xi * push;
                fx[j] -= (1 - xi) * sx; fx[j + 1] -= xi * sx;
            }
            fz[s->tip_u] -= s->tip_k[0] * z[s->tip_u] + s->tip_c[0] * pz[s->tip_u];
            fz[s->tip_l] -= s->tip_k[1] * z[s->tip_l] + s->tip_c[1] * pz[s->tip_l];
        }
        {
            double one = inverse[u], two = inverse[u + 1];
            double parting = (two * fx[u + 1] - one * fx[u]) * tx[u] + (two * fy[u + 1] - one * fy[u]) * ty[u];
            if (PLANES == 2) parting += (two * fz[u + 1] - one * fz[u]) * tz[u];
            double q = s->floor_inertia * parting / (1 + s->floor_inertia * (one + two));
            fx[u] += q * tx[u]; fy[u] += q * ty[u]; fx[u + 1] -= q * tx[u]; fy[u + 1] -= q * ty[u];
            if (PLANES == 2) { fz[u] += q * tz[u]; fz[u + 1] -= q * tz[u]; }
        }
        double ox = -c * s->cx + sn * s->cy, oy = -sn * s->cx - c * s->cy;
        double hx = s->hand_fx - s->hand_k * (pose[0] + ox) - s->hand_c * (ahead[0] - ahead[2] * oy);
        double hy = s->hand_fy - s->hand_k * (pose[1] + oy) - s->hand_c * (ahead[1] + ahead[2] * ox);
        double ht = s->hand_t - s->hand_rk * pose[2] - s->hand_rc * ahead[2];
        double sy = hy - f;
        sx += hx;
        st += ht + ox * hy - oy * hx - (at_x - pose[0]) * f;
        for (int k = 0; k < 4; k++) {
            int i = node[k];
            sx += fx[i]; sy += fy[i];
            st += (x[i] - pose[0]) * fy[i] - (y[i] - pose[1]) * fx[i];
        }
        double gain = step ? dt : half;
        last[0] = sx / s->mass + s->gx; last[1] = sy / s->mass + s->gy; last[2] = st / s->inertia;
        for (int i = 0; i < n; i++) {
            ax[i] = fx[i] * inverse[i] + s->gx;
            ay[i] = fy[i] * inverse[i] + s->gy;
            if (PLANES == 2) az[i] = fz[i] * inverse_z[i];
        }
        for (int k = 0; k < 4; k++) ax[node[k]] = ay[node[k]] = 0;
        for (int i = 0; i < n; i++) {
            vx[i] += gain * ax[i]; vy[i] += gain * ay[i];
            x[i] += dt * vx[i]; y[i] += dt * vy[i];
            if (PLANES == 2) { vz[i] += gain * az[i]; z[i] += dt * vz[i]; }
        }
        for (int k = 0; k < 3; k++) {
            rate[k] += gain * last[k];
            pose[k] += dt * rate[k];
        }
        time += dt;
    }
}
