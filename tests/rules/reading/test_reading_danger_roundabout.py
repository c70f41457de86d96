"""Danger told the long way round, and what only sounds like it; wordings are ours, as people text."""

from __future__ import annotations

import pytest

from rules.reading import danger_in

# Signs of danger as gas utilities, CO alarm makers and fire services name them, in tenants' words.
_DANGERS = """
gas?? my kitchen smells funny
dejaron la hornilla abierta y apesta
4 beeps then silence then 4 beeps
my head is killing me whenever i'm home, goes away at work
monoxide alarm chirped then started going nuts
huele a chamuscado y no estoy cocinando
smoke alarm going off and nobody is cooking
outlet spit fire
baseboard heater caught a sock and its burning
siento corriente al tocar la llave de la regadera
outlet is black and hot
bath water came out so hot it took skin off
she keeps falling asleep and her skin is ice cold
mi vecino de 85 años no abre la puerta desde ayer y no hay calefaccion
theres that stink they put in gas so you notice it, its in my bathroom
hallway reeks of propane or something
idk if its gas but something stinks like rotten eggs by the dryer
apartment smells like skunk but theres no skunk obviously, near the meters
mi cocina huele a cebolla podrida cerca de la llave del gas
hay una fuguita de gas creo, se oye un siseo en la manguera
jiede a gas aqui
la doña del 3A dice q guele a gas en la entrada
huele a podrido en el cuarto de los medidores de gas
the stove knob was on all night and no flame
dejamos la hornilla abierta sin prender toda la noche
I hear hissing from the gas line behind my stove
i smel gaz
is it normal to smell gas when the heat starts
carbon monoxide detector is going nuts
monoxide alarm 4 beeps pause 4 beeps
detector reading 70
the plug in alarm by the bed wont stop and it says move to fresh air
esta pitando el detector y no para
alarma de carbono activada
there is an alarm going off in the boiler room
we all woke up with headaches
my kids are vomiting and I have a bad headache
everyone in the apartment is nauseous and lightheaded
the baby is throwing up and grandma is dizzy
nos duele la cabeza a todos desde que prendieron la caldera
dont ask me if I smell gas, of course I do
what does gas smell like? because my whole kitchen stinks of gas
no outlets near it but the water is in the ceiling lamp
inches of water in the laundry and the washers are still running
hay un charco y la lampara sigue enchufada
the screen is lit and there is smoke coming out of it
mi mama se desmayo
toda la familia con dolor de cabeza, hasta el perro anda raro
there is smoke
i see flames behind the boiler door
the curtain touched the baseboard and caught fire
the heater caught on fire
fire in the trash room
sale un humo negro de la pared
hay candela en el sotano
esta saliendo humito del radiador
smoke alarm going off on the 4th floor and i smell something burning
sparks shot out of the boiler switch
my outlet is buzzing and hot
the breaker box is humming and smells burnt
plug melted into the wall
burning plastic smell by the outlet
theres a smell like burning hair and rubber from the heater
every time i touch the radiator it zaps me
me dio un calambrazo la llave
hizo un chispazo cuando lo conecte
se derritio el enchufe
el apagador truena y echa chispas
the ceiling is leaking onto the light
water dripping down into the outlet
leak over the fuse box
the leak is soaking the extension cord
cae agua del foco
hay agua cerca de la caja de la luz
la lampara esta llena de agua
water leaking behind the tv where all the plugs are
i burned my hand bad on the radiator
steam burned my face
me queme con el radiador
the radiator cap flew off and steam is filling the room
bathroom is full of steam from the broken pipe
boiling water sprayed all over my arm
mom is shivering and cant talk straight
the old lady next door isnt answering and her place has no heat
grandma wont wake up
bebe con los labios azules
mi mama no reacciona, esta helada
my feet turned blue
she stopped shivering and is really sleepy
you know that smell they put in so you can tell theres a leak? thats in my hall
smells like lighter fluid or propane by the boiler
hissing behind the stove where the hose is
oven door was open and its pouring out gas i think
huele como a encendedor en la cocina
algo apesta por el medidor y me arden los ojos
la estufa esta tirando gas
theres a mercaptan type odor on the 2nd floor
the box by my bed turned red and wont shut up
the little alarm with the red light wont stop
my monitor says evacuate
heads feel heavy, everyone wants to sleep, windows shut and the boiler running hard
the kids have been sick to their stomach and my head is pounding since the heat came on
mi perro se desmayo y yo estoy mareada
cuando salimos se nos quita el dolor de cabeza
suena una alarma en el apartamento de abajo desde hace una hora
something in the wall smells toasted and its getting smoky
room is getting hazy and my eyes burn
paper on the radiator caught
neighbors door is hot and smoke under it
se esta quemando el aislante del tubo
se prendio el calentador en llamas
the wall plate is hot and smells like burnt hair
thermostat gave me a little kick when i touched it
plug is stuck in the wall, it melted
me dio una patada el radiador
huele a cuerno quemado por el enchufe
el contacto esta bien caliente y negro
se oyo un tronido y salio un flamazo del apagador
bulb has water in it
panel in the hallway is wet
its raining inside right over the tv plugs
el agua le llego a la extension donde tengo todo conectado
el techo gotea encima de la caja de luz
the radiator left a burn on my sons arm
she fell on the radiator and her skin is peeling
scalding water got my daughter in the tub
se pelo la piel con el tubo caliente
mi nene puso la mano en el radiador y se le quemo
a geyser of steam from the valve, whole room white
el vapor no deja ver nada en el cuarto
i cant get my grandma to wake up, its freezing in here
my grandmothers words are slurred and shes ice cold
she isnt shivering anymore but shes so cold and confused
mi abuela no puede hablar bien del frio
mi mama se quedo dormida y no despierta, hace un frio terrible
"""
# Negated, past, elsewhere, explained or figures of speech (common practice, no source).
_HARMLESS = """
no gas smell today, just cold
gas stove takes forever to light
do you have gas heat or oil
smells like garbage in the hall
my neighbors food stinks up the hallway
neighbor smokes weed, smells like skunk in the hall
huele a huevo frito en el pasillo
no huele a nada pero hace frio
el recibo de gas llego muy caro
ya vinieron los del gas y dijeron que todo bien
chirping detector battery
necesito pila para el detector de monoxido
alarm clock didnt go off so i was late
the fire alarm test is today right
I have a headache from the noise
im dizzy from the heat its so hot in here
everyone is sick with colds
tengo dolor de cabeza por los golpes en la tuberia
its hot as hell like an oven
fireplace doesnt work
when is the fire drill
burning up in here, 85 degrees
the radiator is burning hot
smells like burning dust when the heat turned on
huele a quemado la primera vez que prende
set off the smoke alarm cooking, all good
cigarette smoke in my bathroom vent
my neighbor smokes and it comes in
breaker trips when i use the heater
the light bulb burned out in the hall
outlet doesnt work
thermostat light is flickering
static shock on the doorknob
electric bill is too high
leak under the sink
water dripping from the radiator in the bedroom
no water and no light
gotea el radiador del cuarto
the hot water is so hot i almost burned myself
agua sale hirviendo
steam comes out of the valve a little
the steam heat is too strong
mi abuela tiene mucho frio
mis hijos estan temblando de frio
cant feel my toes
the super doesnt respond
my dog shivers
i slept in my coat
buzzing noise in the wall
clicking from the thermostat
whistling valve
feels like the pipes will explode
the fan in the bathroom is loud
pilot is out again no hot water
estoy usando la estufa para calentar
my coworker said to text you
the boiler exploded with noise last winter haha
my lips are dry from the heat
ceiling is wet near the window
the wall is warm behind the bed
wifi went off when heat came on
the stove burner is dirty
la tele se ve mal
my alarm goes off at 5 and the heat is off
the kids are sick again because of the cold apartment
this noise gives everyone a headache
i smoke outside so dont blame me
the fire department inspected the building today
the sparkling water machine leaks
i have gas lol
how much is the gas bill split
is it dangerous if radiator is hot
paint is flaking off the radiator
i have 3 pots on the floor catching drips
thermostat went black, no display
this is insensitive, a shorter wait would help
called 4 times and then nothing
headache from this heat, its 88 in here
the heat is fire today lol
smoke detector fell off the ceiling
detector beeped once last night, never again
hot water too hot, nearly scalded me
radiator too hot to touch
burnt my dinner sorry for the smell
huele a pan quemado en el pasillo
huele a humedad en el closet
huele a pintura fresca
mi vecino fuma y entra el olor
no es gas, es basura
se fundio el foco del baño
el apagador del pasillo no funciona
fuga de agua debajo del fregadero
radiador muy caliente, mi hija casi se quema
mucho vapor en el baño cuando me ducho
steam radiator spits a little water
mi bebe tiene las manos frias
my nose is cold
kids have blue jackets on inside lol
the thermostat has a blue light
landlord not responding
last year we had a fire in 2B
they fixed the gas leak already, no smell now
the CO alarm was just low battery
my sister in queens had a gas leak
the movie had fire scenes
estoy muerto de calor
the pipes shake the wall
buzzing from the radiator
electric bill shock
the knob on the stove is broken
oven takes forever
boiler pilot is out
lamp in hallway broken
stop asking me if i smell gas, I dont, I am just cold
what would a gas leak smell like
a que huele el gas? pregunta nomas
i smelled gas at the gas station on my way home
we are grilling on the roof saturday so there will be smoke
its lit up but the numbers make no sense to me
ceiling drips in the closet, no outlets near it
"""


@pytest.mark.parametrize("text", _DANGERS.strip().split("\n"))
def test_a_roundabout_danger_is_found(text: str) -> None:
    """Nobody has to say the word for it to be a danger."""
    assert danger_in(text)


@pytest.mark.parametrize("text", _HARMLESS.strip().split("\n"))
def test_what_only_sounds_like_danger_is_none(text: str) -> None:
    """A word of danger alone starts no alarm."""
    assert danger_in(text) == ()
