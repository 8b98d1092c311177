"""How a figure is taken on the engine, and its doubt: numbers only, no files.

==========  =======================================================  =====  ==========================================
quantity    symbol                                                   unit   sign or meaning
==========  =======================================================  =====  ==========================================
figure      y = f(x1 ... xn)                                         mm     or degrees
standard    u(y), u² = sum of (df/dxi)² u(xi)²                       as y   one standard deviation
freedom     v, u⁴/v = sum of ((df/dxi) u(xi))⁴/vi                    1      by Welch and Satterthwaite
doubt       U = t(0.975, v) u                                        as y   half width of the interval that is right
                                                                            19 times in 20
==========  =======================================================  =====  ==========================================

Source: JCGM 100:2008, Guide to the expression of uncertainty in measurement, 4.2, 4.3, 5.1, 5.2, 6 and G.4.
"""

from linkmotion.measuring.taken import Part as Part
from linkmotion.measuring.taken import Source as Source
from linkmotion.measuring.taken import Taken as Taken
