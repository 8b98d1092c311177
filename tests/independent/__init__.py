"""Solutions of the Walschaerts gear that share no code with ``linkmotion``.

The gear is solved here in four unlike ways, so that an error in the product's core cannot hide behind
itself: joint angles with ``scipy.optimize.fsolve``, pins and rod lengths in casadi, a multibody model in
exudyn, and dyads in pylinkage.
"""
