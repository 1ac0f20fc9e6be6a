"""Sun positions over 1950-2050, where c1_solar.py covers 1990-2035."""
import numpy as np, pandas as pd, pvlib
from pvlib import spa, solarposition
from common import *
for s in SETS:
    r = rng(s, 12)
    rows = []
    for k in range(404):
        y = 1950 + k // 4
        t = pd.Timestamp(year=y, month=1, day=1, tz='UTC') + pd.Timedelta(seconds=int(r.integers(0, 365 * 86400)))
        lat, lon = round(r.uniform(-66, 70), 4), round(r.uniform(-180, 180), 4)
        elev = float(np.round(r.uniform(0, 3000), 1))
        dt = float(np.round(spa.calculate_deltat(t.year, t.month), 2))
        sp = solarposition.spa_python(pd.DatetimeIndex([t]), lat, lon, altitude=elev, delta_t=dt, how='numpy').iloc[0]
        rows.append(dict(time_utc=t.strftime('%Y-%m-%dT%H:%M:%SZ'), unix=int(t.timestamp()), latitude=lat, longitude=lon,
            elevation_m=elev, delta_t_s=dt, true_zenith_deg=sp.zenith, azimuth_deg=sp.azimuth))
    save(s, 'c1_years.csv', pd.DataFrame(rows), f"""Solar position, NREL SPA algorithm (Reda and Andreas) as implemented in pvlib {pvlib.__version__}, pvlib.solarposition.spa_python, how=numpy; four instants a year, 1950-2050
true_zenith is topocentric without refraction; azimuth clockwise from north; longitude east positive""")
