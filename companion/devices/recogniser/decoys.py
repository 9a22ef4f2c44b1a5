"""Everyday words to listen for and refuse, so that talk is not forced onto a command.

A recogniser that knows only commands makes a command of everything. With ordinary words beside
them it can take the sound for one of those instead, and it becomes unsure where two fit. They are
our own choice: talk over a cup of tea, fillers, and words that sound nearly like a command. None
sounds the same as a command or a number.
"""

from typing import Final

_TEXTS: Final = {
    "en": (
        "um uh oh hey hello okay well yeah thanks please sorry maybe really always never almost "
        "gone none dawn bone turn pack black rack bag lake tack beat heat meet tape top shop step "
        "paws cause horse because slow lower shower flower master plaster after foster under "
        "window kitchen radio coffee sugar biscuit dinner garden weather rain sunny morning "
        "evening yesterday tomorrow telephone doctor mother father sister children neighbour dog "
        "chicken money market music station number table chair scissors yarn cotton colour purple "
        "yellow orange green brown look listen wonder think remember forget believe happen bring "
        "take make give tell ask want need could should would about because people something "
        "nothing everything somebody together quickly little beautiful expensive wonderful "
        "anyway actually suppose course sure fine good great terrible lovely what when who why "
        "how which there this that these those they them she his her our your mine"
    ),
    "de": (
        "hallo also naja ach genau danke gerne vielleicht wirklich immer niemals fast heute "
        "gestern morgen abend fenster küche radio kaffee zucker kuchen garten wetter regen sonne "
        "telefon arzt mutter vater schwester kinder nachbar hund katze geld markt musik tisch "
        "stuhl schere garn wolle baumwolle farbe rot gelb grün blau braun schwarz schauen hören "
        "denken glauben vergessen bringen nehmen machen geben sagen fragen wollen brauchen können "
        "sollen leute etwas nichts alles jemand zusammen schön teuer wunderbar eigentlich "
        "natürlich sicher gut schlecht prima warum wann wer wie welche dieser jener meine deine "
        "unsere artig wertig völlig zucken rücken wieder lieder feder fehlt stand land bande hilft "
        "kaufen laufen raufen lange kellner länge wange"
    ),
    "es": (
        "hola bueno pues claro gracias quizás siempre nunca casi hoy ayer mañana tarde noche "
        "ventana cocina radio café azúcar jardín tiempo lluvia sol teléfono médico madre padre "
        "hermana niños vecino perro gato dinero mercado música mesa silla tijeras hilo lana "
        "algodón color rojo amarillo verde azul marrón negro mirar escuchar pensar creer olvidar "
        "traer tomar hacer dar preguntar querer necesitar poder gente algo nada todo alguien "
        "juntos bonito caro maravilloso realmente seguro bien mal vale cuándo quién cómo cuál "
        "este ese aquel mía tuya nuestra pronto visto lista techo pecho lecho detrás además "
        "pausar causa correr señor mejor actor olvida salida bastante"
    ),
    "ko": (
        "안녕 그래 그래서 그런데 그냥 고마워 미안해 진짜 정말 항상 절대 거의 오늘은 어제 내일 "
        "아침 저녁 창문 부엌 라디오 커피 설탕 과자 점심 정원 날씨 비가 전화 병원 엄마 아빠 언니 "
        "아이들 이웃 강아지 고양이 돈 시장 음악 역 책상 의자 가위 털실 목화 색깔 빨간 노란 초록 "
        "파란 갈색 검은 보고 듣고 생각 기억 믿어 가져와 만들어 말했어 물어봐 필요해 사람 무엇 "
        "아무것도 모두 누가 함께 빨리 조금 예쁘다 비싸다 좋아 나빠 물론 왜 언제 누구 어떻게 어느 "
        "이것 저것 우리 너희 음 어 아이고 글쎄 맞아 몰라 괜찮아 다음 나중에 먼저 여기 거기 저기 "
        "지난 뒤에 위로 바로 따로 멀리 소리 머리 다리 자리 마음 마을 가을 겨울 여름"
    ),
}

DECOYS: Final[dict[str, tuple[str, ...]]] = {
    language: tuple(text.split()) for language, text in _TEXTS.items()
}
"""For each language of the command table."""
