package lithology_test

import (
	"slices"
	"strings"
	"testing"

	"tallybook/records/lithology"
)

// phrases are descriptions as drillers write them and how a careful reader
// takes them: text | class | material | secondary materials, then marks:
// ? for a reading to be looked at, w water-bearing, d dry, b broken.
// Common practice, no source.
const phrases = `
clay | soil | clay |
Clay | soil | clay |
CLAY. | soil | clay |
sandy clay | soil | clay | sand
clay, sandy | soil | clay | sand
clay with boulders | soil | clay | boulders
clay w/ bldrs | soil | clay | boulders
clay & boulders | soil | clay | boulders
cly, brn, sft | soil | clay |
gry sandy cly w/ bldrs | soil | clay | sand, boulders
blue clay | soil | clay |
stiff blue clay | soil | clay |
red clay | soil | clay |
gumbo | soil | clay |
silty clay some gravel | soil | clay | silt, gravel
clay tr. gravel | soil | clay | gravel
clay, trace sand and gravel | soil | clay | sand_gravel
clay and sand streaks | soil | clay | sand
not hard clay | soil | clay |
dry clay | soil | clay | | d
clay, no water | soil | clay | | d
sand | soil | sand |
sd | soil | sand |
fine sand | soil | sand_fine |
fn sd | soil | sand_fine |
very fine sand | soil | sand_fine |
v. fine silty sand | soil | sand_fine | silt
sand, fine | soil | sand_fine |
sand, fine, brown | soil | sand_fine |
crs sand | soil | sand_coarse |
course sand | soil | sand_coarse |
med sand | soil | sand |
fine to coarse sand | soil | sand |
fine to medium sand | soil | sand |
medium to crs brn sand | soil | sand |
f-c sand | soil | sand |
sand, fine to coarse | soil | sand |
quicksand | soil | sand |
quick sand | soil | sand |
heaving sand | soil | sand |
water sand | soil | sand | | w
wet sand | soil | sand | | w
gravelly sand | soil | sand | gravel
sand with some gravel | soil | sand | gravel
sand w/gravel | soil | sand | gravel
sand & gravel | soil | sand_gravel |
Sand and Gravel | soil | sand_gravel |
sand + gravel | soil | sand_gravel |
S & G | soil | sand_gravel |
s&g | soil | sand_gravel |
sand/gravel | soil | sand_gravel |
sand, gravel | soil | sand_gravel |
sand gravel | soil | sand_gravel |
sd & grvl | soil | sand_gravel |
sand & gr. | soil | sand_gravel |
gravel and sand | soil | sand_gravel |
fine sand and coarse gravel | soil | sand_gravel |
sand, gravel & clay | soil | sand_gravel | clay
sand, gravel and boulders | soil | sand_gravel | boulders
bank run gravel | soil | sand_gravel |
gravel | soil | gravel |
grvl | soil | gravel |
pea gravel | soil | gravel |
coarse gravel | soil | gravel |
sandy gravel | soil | gravel | sand
clayey gravel | soil | gravel | clay
gravel and clay | soil | gravel | clay
gravel, water bearing | soil | gravel | | w
gravel w/ water | soil | gravel | | w
gravel 20 gpm | soil | gravel | | w
gravels | soil | gravel |
cobbles | soil | cobbles |
cobbles & clay | soil | cobbles | clay
clay and rocks | soil | clay | cobbles
river rock | soil | cobbles |
boulders | soil | boulders |
bldrs | soil | boulders |
Bolders | soil | boulders |
granite boulders | soil | boulders | granite
large boulder | soil | boulders |
boulders in clay | soil | boulders | clay
nested boulders | soil | boulders |
float rock | soil | boulders |
boulders and hardpan | soil | boulders | till
till | soil | till |
hardpan | soil | till |
hard pan | soil | till |
HP | soil | till |
hp & bldrs | soil | till | boulders
HP w/ boulders | soil | till | boulders
gravelly till | soil | till | gravel
dense gray till | soil | till |
boulder clay | soil | till |
sandy till, wet | soil | till | sand | w
glacial till | soil | till |
clay hardpan | soil | till |
silt | soil | silt |
sandy silt | soil | silt | sand
silt & clay | soil | silt | clay
loess | soil | loess |
loam | soil | topsoil |
topsoil | soil | topsoil |
top soil | soil | topsoil |
Top Soil & Clay | soil | topsoil | clay
sandy loam | soil | topsoil |
black dirt | soil | topsoil |
overburden | soil | overburden |
O.B. | soil | overburden |
OB | soil | overburden |
dirt | soil | overburden |
red dirt and clay | soil | overburden | clay
fill | soil | fill |
gravel fill | soil | fill |
made ground | soil | fill |
concrete | soil | fill |
peat | soil | peat |
muck | soil | peat |
black muck and peat | soil | peat |
swamp muck | soil | peat |
marl | soil | marl |
shell marl | soil | marl |
sand & shell | soil | sand | shells
bentonite | soil | bentonite |
volcanic ash | soil | ash |
cinders | soil | ash |
cement gravel | transition | cemented_gravel |
cemented gravel | transition | cemented_gravel |
gravel, cemented | transition | cemented_gravel | gravel
cemented sand & gravel | transition | cemented_gravel |
caliche | transition | caliche |
white calichi | transition | caliche |
saprolite | transition | saprolite |
brown saprolite, soft | transition | saprolite |
sap | transition | saprolite |
rotten rock | transition | weathered_rock |
rotten ledge | transition | weathered_rock |
rotton rock | transition | weathered_rock |
weathered rock | transition | weathered_rock |
weathered bedrock | transition | weathered_rock |
decomposed granite | transition | weathered_rock | granite
decomp. granite | transition | weathered_rock | granite
granite, decomposed | transition | weathered_rock | granite
granite, weathered, hard | transition | weathered_rock | granite
weathered schist | transition | weathered_rock | schist
highly weathered gneiss | transition | weathered_rock | gneiss
soft rotten shale | transition | weathered_rock | shale
rotten | transition | weathered_rock |
disintegrated granite | transition | weathered_rock | granite
slightly weathered granite | rock | granite |
sl. weathered gneiss | rock | gneiss |
moderately weathered schist | rock | schist |
unweathered granite | rock | granite |
granite, not weathered | rock | granite |
fresh granite | rock | granite |
granite with weathered zones | rock | granite | weathered_rock
weathered clay | soil | clay |
clay seam | soil | mud_seam |
mud seam | soil | mud_seam |
mud-filled crevice | soil | mud_seam |
clay filled void | soil | mud_seam |
limestone with clay seams | rock | limestone | mud_seam
limestone w/ mud seams | rock | limestone | mud_seam
limestone, mud seams | rock | limestone | mud_seam
void | void | void |
cavity | void | void |
crevice | void | void |
mine void | void | void |
water filled void | void | water_void | | w
water-filled cavity | void | water_void | | w
void in limestone | void | void | limestone
cavities in limestone | rock | limestone | void
cavernous limestone | rock | limestone | void
rock | rock | rock |
hard rock | rock | rock |
gray rock | rock | rock |
bedrock | rock | rock |
Ledge | rock | rock |
ledge rock | rock | rock |
solid rock | rock | rock |
broken rock | rock | rock | | b
broken ledge, water | rock | rock | | bw
soft rock | rock | rock |
rock with clay seams | rock | rock | mud_seam
rock: granite | rock | granite |
bedrock - gray schist | rock | schist |
ledge (granite) | rock | granite |
ledge, granite, hard | rock | granite |
bedrock, slate and quartz | rock | slate | quartz_vein
granite ledge | rock | granite |
granite bedrock | rock | granite |
slate rock | rock | slate |
clay slate | rock | slate |
slate | rock | slate |
limestone | rock | limestone |
ls | rock | limestone |
LS, gry, hd | rock | limestone |
lime | rock | limestone |
lime rock | rock | limestone |
lime stone | rock | limestone |
shell rock | rock | limestone |
shaly limestone | rock | limestone | shale
cherty ls | rock | limestone | chert
limestone w/ chert | rock | limestone | chert
limestone and shale | rock | limestone | shale
shale with limestone | rock | shale | limestone
interbedded shale & limestone | rock | shale | limestone
dolomite | rock | dolomite |
dolomitic limestone | rock | dolomite |
chalk | rock | chalk |
chert | rock | chert |
flint rock | rock | chert |
sandstone | rock | sandstone |
ss | rock | sandstone |
SS. fn gr. | rock | sandstone |
sand rock | rock | sandstone |
sandrock | rock | sandstone |
sand stone | rock | sandstone |
red sandstone, coarse | rock | sandstone |
siltstone | rock | siltstone |
shale | rock | shale |
sh, gry | rock | shale |
sandy shale | rock | shale | sand
clay shale | rock | shale |
blue shale | rock | shale |
mudstone | rock | claystone |
fire clay | rock | claystone |
conglomerate | rock | conglomerate |
coal | rock | coal |
coal seam | rock | coal |
gypsum | rock | gypsum |
gyp & red shale | rock | gypsum | shale
rock salt | rock | salt |
granite | rock | granite |
gran, pnk | rock | granite |
hard pink granite | rock | granite |
granit | rock | granite |
granite w/ qtz veins | rock | granite | quartz_vein
grey granite, seam @ 200, 5 gpm | rock | granite | | w
granite, fractured | rock | granite | | b
granite boulder, then ledge | soil | boulders | granite, rock | ?
pegmatite | rock | pegmatite |
diorite | rock | diorite |
gabbro | rock | gabbro |
trap rock | rock | basalt |
traprock | rock | basalt |
basalt | rock | basalt |
broken basalt | rock | basalt | | b
lava rock | rock | basalt |
andesite | rock | andesite |
rhyolite | rock | rhyolite |
tuff | rock | tuff |
welded tuff | rock | tuff |
gneiss | rock | gneiss |
soft gray gneiss | rock | gneiss |
granite gneiss | rock | gneiss |
gniess | rock | gneiss |
gneiss and schist | rock | gneiss | schist
mica schist | rock | schist |
shist | rock | schist |
quartz mica schist | rock | schist |
rusty schist, broken | rock | schist | | b
phyllite | rock | phyllite |
quartzite | rock | quartzite |
marble | rock | marble |
amphibolite | rock | amphibolite |
greenstone | rock | amphibolite |
soapstone | rock | serpentinite |
soap rock | rock | serpentinite |
serpentine | rock | serpentinite |
quartz | rock | quartz_vein |
quartz vein | rock | quartz_vein |
quartz veins in gneiss | rock | gneiss | quartz_vein
streaks of sand in clay | soil | clay | sand
some gravel | soil | gravel |
red clay gray limestone | soil | clay | limestone | ?
clay and rock | soil | clay | rock | ?
sand to bedrock | soil | sand |
clay on ledge | soil | clay |
rock? | rock | rock | | ?
possible bedrock | rock | rock | | ?
probably ledge | rock | rock | | ?
granite (?) | rock | granite | | ?
clay, possible boulders | soil | clay | boulders
ledge (not bedrock) | unknown | rock | | ?
boulder, not bedrock | soil | boulders |
clay, no rock | soil | clay |
no rock | unknown | unknown |
not bedrock | unknown | unknown |
no sand or gravel, clay only | soil | clay |
sand without clay | soil | sand |
gravel w/o water | soil | gravel | | d
rock fragments | unknown | rock | | ?
clay with rock fragments | soil | clay | rock
mostly clay, some sand | soil | clay | sand
sand, mostly gravel | soil | sand_gravel |
unknown | unknown | unknown |
no sample | unknown | unknown |
no recovery | unknown | unknown |
not logged | unknown | unknown |
same as above | unknown | unknown |
water | unknown | unknown | | w
hard | unknown | unknown |
gray | unknown | unknown |
gr | unknown | unknown | | ?
stone | unknown | unknown | | ?
granite wash | unknown | unknown | | ?
brn sdy cly | soil | clay | sand
Yellow clay & gravel mixed | soil | clay | gravel
sand, clay & gravel layers | soil | sand_gravel | clay
boulders, clay and gravel | soil | boulders | clay, gravel
clay to gravel | soil | clay | gravel
sand to limestone | soil | sand | limestone | ?
gravel over shale | soil | gravel | shale | ?
brown clay then blue clay | soil | clay |
hardpan w/ sand & gravel lenses | soil | till | sand_gravel
very hard gray limestone | rock | limestone |
limestone (crevice at 80) | rock | limestone | void
limestone, broken, w/ water | rock | limestone | | bw
lt gry ls w/ sh strks | rock | limestone | shale
dk gry sh | rock | shale |
black slate, hard | rock | slate |
gray slate with quartz seams | rock | slate | quartz_vein
gray granite w/ pegmatite dikes | rock | granite | pegmatite
biotite gneiss, garnet | rock | gneiss |
granitic gneiss | rock | gneiss |
hornblende schist | rock | amphibolite |
granodiorite | rock | granite |
diabase | rock | gabbro |
lignite & clay | rock | coal | clay | ?
clay w/ coal streaks | soil | clay | coal
clay, silt, and fine sand | soil | clay | silt, sand
peaty clay | soil | clay | peat
bouldery till | soil | till | boulders
stony till | soil | till | cobbles
clay & hardpan | soil | clay | till
sand & boulders | soil | sand | boulders
soil and weathered rock | soil | overburden | weathered_rock
earth | soil | overburden |
sand. Gravel. Clay | soil | sand_gravel | clay
brn. sd. & grvl. | soil | sand_gravel |
sand--water | soil | sand | | w
lost circulation in broken limestone | rock | limestone | | b
did not hit bedrock | unknown | unknown |
no ledge, all clay | soil | clay |
clay, bedrock not reached | soil | clay |
clay, didn't hit ledge | soil | clay |
never reached rock; sand | soil | sand |
top of ledge | rock | rock |
hit ledge | rock | rock |
clay, hit ledge | soil | clay |
looks like granite | rock | granite | | ?
maybe shale | rock | shale | | ?
rotten ledge with mud | transition | weathered_rock | overburden
shale, weathered, gravel | transition | weathered_rock | shale, gravel
hard rotten limestone | transition | weathered_rock | limestone
weathered to fresh granite | transition | weathered_rock | granite
10YR 4/3 silty clay | soil | clay | silt
clay gravel sand boulders | soil | boulders | clay, sand_gravel
O/B | soil | overburden |
white quartz sand | soil | sand |
quartz gravel | soil | gravel |
limestone with thin shale breaks | rock | limestone | shale
limestone rubble | soil | cobbles | limestone
salt water sand | soil | sand | | w
brown rock & seams of clay | rock | rock | clay
dirt & rotten rock | soil | overburden | weathered_rock
dirt and rock | soil | overburden | rock | ?
shale or clay | rock | shale | clay | ?
boulder or ledge | soil | boulders | rock | ?
saprolite to rock | transition | saprolite |
casing | unknown | unknown |
red beds | unknown | unknown |
slate chips | unknown | slate | | ?
crushed rock | unknown | rock | | ?b
glacial drift | soil | overburden |
silt, sand and gravel | soil | silt | sand_gravel
gray granite 1/2 gpm at 210, 3 gpm at 300 | rock | granite | | w
solid ledge, not boulders | rock | rock |
clay or shale | soil | clay | shale | ?
xyzzy | unknown | unknown |
casing | unknown | unknown |
fracture, 3 gpm | unknown | unknown | | wb
 | unknown | unknown |
40' | unknown | unknown |
`

func TestPhrases(t *testing.T) {
	v := lithology.Default()
	n := 0
	for line := range strings.Lines(phrases) {
		f := strings.Split(strings.TrimRight(line, "\n"), "|")
		if len(f) < 4 {
			continue
		}
		for i := range f {
			f[i] = strings.TrimSpace(f[i])
		}
		n++
		t.Run(f[0], func(t *testing.T) {
			r := v.Read(f[0])
			if r.Class.String() != f[1] || r.Material != f[2] {
				t.Errorf("read as %s (%s), want %s (%s)\n%s", r.Material, r.Class, f[2], f[1], r.Explain())
			}
			var want []string
			if f[3] != "" {
				want = strings.Split(f[3], ", ")
			}
			if !slices.Equal(r.Secondary, want) {
				t.Errorf("secondary %q, want %q\n%s", r.Secondary, want, r.Explain())
			}
			marks := ""
			if len(f) > 4 {
				marks = f[4]
			}
			for _, c := range []struct {
				mark string
				got  bool
			}{
				{"?", r.Uncertain()}, {"w", r.WaterBearing()},
				{"d", r.Water == lithology.WaterNone}, {"b", r.Fractured},
			} {
				if c.got != strings.Contains(marks, c.mark) {
					t.Errorf("mark %s is %v, want %v\n%s", c.mark, c.got, !c.got, r.Explain())
				}
			}
		})
	}
	if n < 150 {
		t.Errorf("only %d phrases", n)
	}
}
