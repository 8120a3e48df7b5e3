"""Words of the trade that files use for features, places, columns, tools and people.

A heading made of a name of the files (``main_journals``) or typed on a sheet is
looked up like any message, so a catalogue may have it; what a shop calls otherwise stays as it calls it.
"""

from __future__ import annotations

_HEADINGS = """
Big-end bores|Block face|Bowls in the piston crowns|Cam cap bolts|Cam lobes|Camshaft bearing clearance
Camshaft bores|Camshaft end float|Camshaft in V-blocks|Camshaft journals|Chain guides|Chain tensioner
Compression|Compression ratio|Crack test of the crankshaft|Crack test of the rods|Crankshaft
Crankshaft end float|Crankshaft in V-blocks|Crush of the main shells|Crush of the rod shells|Cylinder block
Cylinder bores|Cylinder head|Cylinder head and camshafts|Cylinder head bolts|Exhaust cam lobes
Exhaust guides
Exhaust valve clearance|Exhaust valve recession|Exhaust valves|Flywheel bolts|Free spread of the main shells
Gear backlash|Gear train|Gear train and injection pump|Head face|Head height|Installed height of the springs
Intake cam lobes|Intake guides|Intake valve clearance|Intake valve recession|Intake valves|Journal hardness
Leak-down|Line of the main housings|Liner bores|Liner protrusion|Load of the valve springs
Main bearing bolts
Main bearing clearance|Main bolt length|Main housings|Main journals|Main shells|Oil cooler|Oil pressure
Oil pump|Oil pump, sump, rear seal, flywheel|Pin in its bush|Piston clearance|Piston pins|Piston protrusion
Piston skirts|Pistons|Pistons and rods|Ring gaps|Ring side clearance|Rod bearing clearance|Rod bolts
Rod housings|Rod journals|Rod masses|Rod shells|Rod side clearance|Rods over 100 mm|Small-end bushes|Sump
Tappet bores|Tappet in its bore|Tappets|Timing chain|Valve clearance|Valve springs|Valves on their seats
Cam cover|Gear case cover|Injectors|Manifolds|Rear seal housing|Rocker cover|Timing cover
Camshafts|Flywheel|Head face on the plate|Liners|Main caps|Rod caps|Bucket shims
Closing, and before the first start|Oil|Coolant|Fuel
"""
_ROUNDS = """
Arrival|On arrival, continued|Arrival continued|After machining|At assembly|First start|Valve clearance
"""
_PLACES = """
front|rear|top|middle|bottom|upper|lower|side|other side|camshaft side|end|tip|base|bowl|wall|skirt|groove
top a|top t|middle a|middle t|bottom a|bottom t|front a|front b|rear a|rear b|front h|front v|rear h|rear v
front 60l|front 60r|rear 60l|rear 60r|at 0|at 45|at 90|at 135|at 180|at 225|at 270|at 315
first|second|third|fourth|big|small|total|closed|open|free|height|highest|lowest|lash|length|outer body
guide max|stem min|score depth|shim|zero shim|width|ratio|spread|total spread|upper spread
lower spread|bowl spread|neighbours|seated|squareness|straightness|timing error|used|wet|reserve
above best|indications|face|line|set|engine|head|lengthwise|across|diagonal|oil|length 20
end float|hot idle|hot 1800|hot 3000|bucket shims|after machining
valve clearance|out of round|largest|bush
"""
_TOOLS = """
micrometer|ball-anvil micrometer|indicating micrometer|bore gauge|dial indicator|lever dial indicator
depth gauge|depth micrometer|caliper|feeler gauges|pressure gauge
leak-down tester|rod alignment fixture
rebound hardness tester|hardness tester|compression gauge|radius gauges|spring tester|scales|burette
torque wrench|straightedge
"""
_PEOPLE = (
    "shop|customer|owner|foreman|supplier|telephone|e-mail|signed|telephone, then e-mail|letter|in person"
)
_FITNESS = "inside|inside the wear limit|too close|too tight|too large"
_MONEY = "parts|sublet|labour|everything|everything else|report|estimate|statement"
_SHIMS = """
buy|keep|shelf|undersize|oversize|standard|upper|lower|intake|exhaust
moving|fixed|cam|crank|pump|chain|fillet|idler cam|idler pump|crank idler
"""
_DONE = "reuse|recondition|replace|measure again|hold for customer"
_LAYOUTS = """
single cylinder|inline twin|inline three|inline four|inline five|inline six|inline eight|V-twin|V4|V6|V8
V10|V12|flat twin|flat four|flat six|two cylinders|three cylinders|four cylinders|six cylinders
diesel|gasoline|petrol|gas
"""
_LIFE = """
arrival|teardown|inspection|decision|machining|assembly|first start|ready to collect|delivery|follow-up
re-opened|declined|not signed|out of limits|open|done
"""
_ALL = (
    *(_HEADINGS, _ROUNDS, _PLACES, _TOOLS, _PEOPLE, _FITNESS),
    *(_MONEY, _SHIMS, _DONE, _LAYOUTS, _LIFE),
)
WORDS: tuple[str, ...] = tuple(word for text in _ALL for word in text.strip().replace("\n", "|").split("|"))
