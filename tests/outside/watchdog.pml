/* A transmitter's check-ins on an absolute grid, a radio path, and the receiver's watchdog, in whole ticks.

   A check-in is due every P ticks and sent up to J ticks later, which does not move the next one.  A frame is heard up
   to D ticks after it was sent, or lost; at most K - 1 are lost in a row.  A frame that is heard in the instant in which
   the watchdog ends still counts.  With LOST the node dies for good right after it has sent a frame and LOST frames in
   a row were lost; frames on their way survive.

   Claims: while the node lives, the watchdog never trips; after its death it trips within B ticks. */

#ifndef T
#define T 32
#endif
#ifndef B
#define B 33
#endif
#define P 10
#define J 1
#define D 1
#define K 3
#define NONE 255

byte phase, send = NONE, flight = NONE, row, age, dead;
bool armed, sent, died, tripped;

active proctype ticks()
{
    do
    :: tripped -> break
    :: else -> atomic {
        sent = false;
        if
        :: phase == 0 && !died -> if :: send = 0 :: send = J fi
        :: else
        fi;
        if
        :: send == 0 && !died ->
            send = NONE; sent = true;
            if
            :: armed && row < K - 1 -> row++
            :: row = 0; if :: flight = 0 :: flight = D fi
            fi
        :: else
        fi;
        if
        :: flight == 0 -> flight = NONE; age = 0; armed = true
        :: else
        fi;
#ifdef LOST
        if
        :: !died && sent && armed && row == LOST -> died = true; send = NONE; dead = 0
        :: true
        fi;
#endif
        if
        :: armed && age == T ->
            assert(died);
            assert(dead <= B);
            tripped = true
        :: else
        fi;
        phase = (phase + 1) % P;
        if :: send != NONE -> send-- :: else fi;
        if :: flight != NONE -> flight-- :: else fi;
        if :: armed -> age++ :: else fi;
        if :: died -> dead++ :: else fi
    }
    od
}
