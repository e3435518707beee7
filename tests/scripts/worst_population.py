"""The multiple of U that keeps the consumer's risk at 2 % for the worst centred normal population, by scipy.

Usage: python3 tests/scripts/worst_population.py

Tolerance -1 to 1, U = 2u, TUR = 1/U. Prints TUR, the worst standard deviation, and the multiple.
"""
from scipy.integrate import quad
from scipy.stats import norm
from scipy.optimize import brentq, minimize_scalar
def pfa(sd,u,A):
    f=lambda x: norm.pdf(x,0,sd)*(norm.cdf((A-x)/u)-norm.cdf((-A-x)/u))
    return 2*quad(f,1,1+12*u,epsabs=1e-14,epsrel=1e-12)[0]
def band(sd,u):
    g=lambda w: pfa(sd,u,1-w)-0.02
    return brentq(g,-0.5,0.999,xtol=1e-13) if g(0)>0 else 0
for tur in (1,2,4):
    u=.5/tur
    r=minimize_scalar(lambda s:-band(s,u),bounds=(.2,3),method='bounded',options=dict(xatol=1e-8))
    print(tur, r.x, -r.fun*tur)
