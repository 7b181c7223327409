/* The yardstick: the same shot as a plain C leapfrog - same elements, same step, same number of steps.
   No events, traces or energy account. Compiled on the fly by yardstick.py with gcc -O3 -march=native. */
#include <math.h>

typedef struct {
    double cos_slope, sin_slope, k, c, grip, snap, depth, loc_k, loc_c;           /* throat */
    double rest_x, rest_y, rest_k, rest_c, half_diameter, travel;                  /* rest */
    double mass, inertia, cx, cy, carried[8], hand_k, hand_c, hand_rk, hand_rc;    /* riser and hand */
    double force_x, force_y, gx, gy, hand_fx, hand_fy, hand_t;
    double floor_inertia;                                                          /* between the two edges */
    double time[3], delay[3];
    int first, wide, root_u, edge_u, root_l, tail;
} shot;

static double fade(double since, double length) {
    if (since <= 0) return 1;
    if (since >= length) return 0;
    return 0.5 * (1 + cos(M_PI * since / length));
}

static double edge(const shot *s, double d, double rate) {
    double push = s->k * d + s->c * rate, depth = -d, hold = 0;
    if (depth < 0.5 * s->snap) hold = s->grip;
    else if (depth < s->snap) hold = s->grip * (s->snap - depth) / (0.5 * s->snap);
    return push > -hold ? push : -hold;
}

void run(int n, int steps, double dt, const shot *s, const double *restrict weight,
         const double *restrict stretch, const double *restrict rest, const double *restrict least,
         const double *restrict loss, const double *restrict axial, const double *restrict bend,
         const double *restrict natural, const double *restrict bend_loss, const double *restrict inverse,
         double *restrict x, double *restrict y, double *restrict vx, double *restrict vy, double *restrict ax,
         double *restrict ay, double *restrict px, double *restrict py, double *restrict tx, double *restrict ty,
         double *restrict per, double *restrict turn, double *restrict gx, double *restrict gy,
         double *restrict moment, double *restrict fx, double *restrict fy) {
    double pose[3] = {s->cx, s->cy, 0}, rate[3] = {0}, last[3] = {0}, ahead[3];
    int node[4] = {s->root_u - 1, s->root_u, s->root_l, s->root_l + 1};
    int a = s->tail, u = s->edge_u, inside = 1;
    double begin = x[a], half = 0.5 * dt, time = 0;
    for (int step = 0; step < steps; step++) {
        for (int i = 0; i < n; i++) {
            px[i] = vx[i] + half * ax[i];
            py[i] = vy[i] + half * ay[i];
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
            double ex = x[j + 1] - x[j], ey = y[j + 1] - y[j];
            double length = sqrt(ex * ex + ey * ey), inv = 1 / length;
            double ux = ex * inv, uy = ey * inv, wx = px[j + 1] - px[j], wy = py[j + 1] - py[j];
            double pull = stretch[j] * (length - rest[j]);
            pull = pull > least[j] ? pull : least[j];
            pull += axial[j] * (wx * ux + wy * uy);
            tx[j] = ux; ty[j] = uy; per[j] = inv;
            turn[j] = (ux * wy - uy * wx) * inv;
            gx[j] = pull * ux + loss[j] * wx;
            gy[j] = pull * uy + loss[j] * wy;
        }
        moment[0] = moment[n - 1] = 0;
        for (int i = 1; i < n - 1; i++) {
            double cross = tx[i - 1] * ty[i] - ty[i - 1] * tx[i];
            double b = 2 * cross / (1 + tx[i - 1] * tx[i] + ty[i - 1] * ty[i]), slope = 1 + 0.25 * b * b;
            moment[i] = slope * (bend[i] * (b - natural[i]) + bend_loss[i] * slope * (turn[i] - turn[i - 1]));
        }
        for (int j = 0; j < n - 1; j++) {
            double shear = (moment[j] - moment[j + 1]) * per[j];
            gx[j] -= shear * ty[j];
            gy[j] += shear * tx[j];
        }
        fx[0] = gx[0]; fy[0] = gy[0];
        for (int i = 1; i < n - 1; i++) {
            fx[i] = gx[i] - gx[i - 1];
            fy[i] = gy[i] - gy[i - 1];
        }
        fx[n - 1] = -gx[n - 2]; fy[n - 1] = -gy[n - 2];
        for (int k = 0; k < 3; k++) {
            double left = fade(time - s->delay[k], s->time[k]);
            if (left > 0)
                for (int m = 0; m < s->wide; m++) {
                    fx[s->first + m] += left * weight[k * s->wide + m] * s->force_x;
                    fy[s->first + m] += left * weight[k * s->wide + m] * s->force_y;
                }
        }
        if (inside) {
            double ex = x[a + 1] - x[a], ey = y[a + 1] - y[a], hx = x[a + 2] - x[a + 1], hy = y[a + 2] - y[a + 1];
            double ee = ex * ex + ey * ey, hh = hx * hx + hy * hy, l1 = sqrt(ee), l2 = sqrt(hh);
            double cosine = (ex * hx + ey * hy) / (l1 * l2), square = 2.5 - 1.5 * cosine, size = sqrt(square);
            double a2 = -0.5 * (1.5 * cosine - 0.5) / square, a1 = 1 - a2;
            double dx = (1.5 * ex / l1 - 0.5 * hx / l2) / size, dy = (1.5 * ey / l1 - 0.5 * hy / l2) / size;
            double nx = s->cos_slope * dx + s->sin_slope * dy, ny = s->cos_slope * dy - s->sin_slope * dx;
            double w = a1 * (ex * (py[a + 1] - py[a]) - ey * (px[a + 1] - px[a])) / ee
                     + a2 * (hx * (py[a + 2] - py[a + 1]) - hy * (px[a + 2] - px[a + 1])) / hh;
            double ux = x[u] - x[a], uy = y[u] - y[a], lx = x[u + 1] - x[a], ly = y[u + 1] - y[a];
            double vux = px[u] - px[a], vuy = py[u] - py[a], vlx = px[u + 1] - px[a], vly = py[u + 1] - py[a];
            double du = ux * nx + uy * ny, dl = lx * nx + ly * ny, su = -ux * ny + uy * nx, sl = -lx * ny + ly * nx;
            if (du < -s->depth && dl < -s->depth) inside = 0;
            double fu = edge(s, du, vux * nx + vuy * ny + w * su), fl = edge(s, dl, vlx * nx + vly * ny + w * sl);
            double fs = s->loc_k * 0.5 * (su + sl)
                      + s->loc_c * (0.5 * (-(vux + vlx) * ny + (vuy + vly) * nx) - w * 0.5 * (du + dl));
            double qx = fu * nx - 0.5 * fs * ny, qy = fu * ny + 0.5 * fs * nx;
            double rx = fl * nx - 0.5 * fs * ny, ry = fl * ny + 0.5 * fs * nx;
            double couple = ux * qy - uy * qx + lx * ry - ly * rx;
            fx[u] -= qx; fy[u] -= qy; fx[u + 1] -= rx; fy[u + 1] -= ry;
            fx[a] += qx + rx; fy[a] += qy + ry;
            double t = a1 * couple / ee;
            fx[a] += t * ey; fy[a] -= t * ex; fx[a + 1] -= t * ey; fy[a + 1] += t * ex;
            t = a2 * couple / hh;
            fx[a + 1] += t * hy; fy[a + 1] -= t * hx; fx[a + 2] -= t * hy; fy[a + 2] += t * hx;
        }
        double rx = c * (s->rest_x - s->cx) - sn * (s->rest_y - s->cy), ry = sn * (s->rest_x - s->cx) + c * (s->rest_y - s->cy);
        double at_x = pose[0] + rx, at_y = pose[1] + ry, f = 0;
        if (x[a] - begin < s->travel && at_x >= x[a]) {
            int j = a;
            while (j < n - 2 && x[j + 1] < at_x) j++;
            double xi = (at_x - x[j]) / (x[j + 1] - x[j]);
            double gap = at_y - (y[j] + xi * (y[j + 1] - y[j]) - s->half_diameter);
            if (gap > 0) {
                f = s->rest_k * gap + s->rest_c * (ahead[1] + ahead[2] * rx - (1 - xi) * py[j] - xi * py[j + 1]);
                f = f > 0 ? f : 0;
                fy[j] += (1 - xi) * f; fy[j + 1] += xi * f;
            }
        }
        {
            double one = inverse[u], two = inverse[u + 1];
            double parting = (two * fx[u + 1] - one * fx[u]) * tx[u] + (two * fy[u + 1] - one * fy[u]) * ty[u];
            double q = s->floor_inertia * parting / (1 + s->floor_inertia * (one + two));
            fx[u] += q * tx[u]; fy[u] += q * ty[u]; fx[u + 1] -= q * tx[u]; fy[u + 1] -= q * ty[u];
        }
        double ox = -c * s->cx + sn * s->cy, oy = -sn * s->cx - c * s->cy;
        double hx = s->hand_fx - s->hand_k * (pose[0] + ox) - s->hand_c * (ahead[0] - ahead[2] * oy);
        double hy = s->hand_fy - s->hand_k * (pose[1] + oy) - s->hand_c * (ahead[1] + ahead[2] * ox);
        double ht = s->hand_t - s->hand_rk * pose[2] - s->hand_rc * ahead[2];
        double sx = hx, sy = hy - f, st = ht + ox * hy - oy * hx - (at_x - pose[0]) * f;
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
        }
        for (int k = 0; k < 4; k++) ax[node[k]] = ay[node[k]] = 0;
        for (int i = 0; i < n; i++) {
            vx[i] += gain * ax[i]; vy[i] += gain * ay[i];
            x[i] += dt * vx[i]; y[i] += dt * vy[i];
        }
        for (int k = 0; k < 3; k++) {
            rate[k] += gain * last[k];
            pose[k] += dt * rate[k];
        }
        time += dt;
    }
}
