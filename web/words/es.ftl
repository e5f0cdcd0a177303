# Las palabras de Afterturn en español. Un mensaje dice una sola cosa; sencillo, tranquilo, breve.
#
# Los mensajes que empiezan con "live-" son para los scripts: texto simple, sin plurales.
# Cada idioma tiene los mismos mensajes y variables; una prueba los compara.

# La primera página de la caja
home-title = Afterturn
home-what = Las pantallas de las estaciones le muestran a cada niño su propio turno, unos segundos después.
home-demo = Esta es la demostración: las imágenes son dibujos y no hay ninguna cámara encendida.
home-stations = Estaciones
home-open-tv = Abrir la página de la TV
home-open-remote = Abrir el control
home-none = Todavía no hay estaciones. Agregue una cámara en el archivo de configuración de la caja y vuelva a encenderla.

# La página de la TV
tv-no-script = Esta página necesita scripts para mostrar la imagen.

# El control
remote-title = Control
remote-intro = Cuánto se retrasa cada pantalla. Los cambios se ven enseguida en la pantalla.
remote-none = Todavía no hay estaciones. Agregue una cámara en el archivo de configuración de la caja y vuelva a encenderla.
remote-home = Todas las páginas
remote-screens = Pantallas y ayudantes
remote-tv = Página de la TV
remote-delay = Retraso en segundos
remote-less = Medio segundo menos
remote-more = Medio segundo más
remote-unit = s de retraso
remote-no-script = El control necesita scripts. Las TV siguen sin él.

# Alguien a quien nadie ha dado paso todavía
strangers-screen = Esto es una pantalla
strangers-screen-what = Muestra un código y el docente le da paso.
strangers-sign-in = Iniciar sesión
strangers-sign-in-what = Para el docente, con la frase de paso, y para ayudantes, con el PIN.

# Iniciar sesión
sign-in-title = Iniciar sesión
sign-in-first-title = Elegir la frase de paso
sign-in-first-what = La caja acaba de mostrar un código allí donde se encendió. Escríbalo aquí y elija la frase de paso del docente.
sign-in-code = Código de la caja
sign-in-new-passphrase = Nueva frase de paso, de 12 caracteres o más; cuatro palabras van bien
sign-in-again = La misma otra vez
sign-in-set = Guardar la frase de paso
sign-in-passphrase = Frase de paso del docente
sign-in-go = Entrar
sign-in-helper = Ayudantes
sign-in-pin = PIN de seis cifras
sign-in-go-helper = Entrar como ayudante
sign-in-wrong = No es correcto. Inténtelo otra vez.
sign-in-code-wrong = Ese no es el código. Vuelva a leerlo en la caja.
sign-in-wait = Demasiados intentos fallidos. Espere { $seconds } s y vuelva a intentarlo.
sign-in-short = Use de 12 a 128 caracteres. Cuatro palabras van bien.
sign-in-common = Es de las primeras que prueba cualquiera. Elija otra.
sign-in-differ = No coinciden. Escriba la misma frase dos veces.

# Una pantalla que espera
pair-title = Dé paso a esta pantalla
pair-what = Abra el control, luego Pantallas, y escriba este código.

# Quién tiene paso
screens-title = Pantallas y ayudantes
screens-let-in-title = Dar paso a una pantalla
screens-let-in-what = Abra la dirección de la caja en la TV y elija «Esto es una pantalla». Mostrará un código.
screens-code = Código de la pantalla
screens-station = Estación en la que está
screens-let-in-go = Dar paso
screens-let-in = Listo. La pantalla empieza sola.
screens-no-code = Ninguna pantalla muestra ese código ahora. Vuelva a leerlo en la pantalla.
screens-no-station = Esa estación no existe.
screens-in-title = Con paso ahora
screens-none = Nadie todavía.
screens-teacher = Docente
screens-helper = Ayudante
screens-screen = Pantalla de la estación
screens-camera = Cámara de la estación
screens-own = este navegador
screens-remove = Quitar
screens-removed = Quitada. Ya no muestra nada.
screens-gone = Ya no estaba.
screens-pin-title = PIN para ayudantes
screens-pin-what = Con él, un ayudante puede pausar, cubrir y pulsar «No mostrar». No ve nombres ni guarda nada.
screens-pin-is-set = Hay un PIN. Uno nuevo cierra la sesión de todos los ayudantes.
screens-pin-is-not-set = No hay PIN: los ayudantes no pueden entrar.
screens-pin = Nuevo PIN, seis cifras
screens-pin-go = Guardar el PIN
screens-pin-end = Quitar el PIN
screens-pin-set = PIN guardado.
screens-pin-none = Los ayudantes ya no pueden entrar.
screens-pin-wrong = Un PIN tiene seis cifras.
screens-pin-plain = Esas cifras se adivinan fácilmente. Elija otras.
screens-sign-out = Cerrar sesión
screens-remote = Volver al control

# Una página que no se pudo mostrar
problem-home = Volver a la primera página

demo-notice = Demostración: son dibujos

# En la TV
live-late = { $seconds } s después
live-soonest = casi en vivo
live-figure-seconds = { $seconds } s
live-card-opening = Un momento.
live-card-moment = Un momento.
live-card-filling = La primera imagen llega en
live-card-link = Sin conexión con la caja. Probando de nuevo.
live-card-covered = No se muestra
live-card-paused = En pausa
live-card-tap = Toque para empezar
live-band-camera = La cámara no responde. Probando de nuevo.
live-camera-starting = La cámara se está encendiendo.
live-camera-showing = La cámara está encendida.
live-camera-stalled = La cámara no manda imágenes. Probando de nuevo.
live-camera-unreachable = La cámara no contesta. Probando de nuevo.
live-camera-refused = La cámara no acepta la contraseña.
live-camera-not-a-camera = En esta dirección no hay ninguna cámara.
live-camera-unsuitable = Las imágenes de esta cámara no se pueden mostrar.
live-camera-ended = La cámara se desconectó. Probando de nuevo.
live-camera-missing-part = A la caja le falta una pieza para esta cámara.

# En el control
live-order-dont-show = No mostrar
live-order-pause = Pausa
live-order-resume = Mostrar otra vez
live-order-cover-from-now = Tapar desde ahora
live-order-uncover = Destapar
live-order-wipe = Borrar
live-ordered-dont-show = Lo que aún no se ha visto no se verá.
live-ordered-pause = En pausa: ninguna pantalla muestra imágenes.
live-ordered-resume = Otra vez con retraso.
live-ordered-cover-from-now = Lo que pase desde ahora no se muestra.
live-ordered-uncover = Lo que pase desde ahora se muestra.
live-ordered-wipe = Borrado: no queda nada hasta este momento.
live-note-converts-h265 = Esta cámara envía H.265. La caja lo convierte y eso ocupa medio procesador. Ponga el vídeo de la cámara en H.264 para evitarlo.
live-note-converts-jpeg = Esta cámara envía Motion JPEG. La caja lo convierte y eso ocupa un cuarto de procesador. Ponga el vídeo de la cámara en H.264 para evitarlo.
live-note-converts-b-frames = Esta cámara envía imágenes B. La caja las convierte y eso ocupa medio procesador. Desactívelas en la cámara (B-frames) o elija el perfil Baseline.
live-note-converts-interlaced = Esta cámara envía imágenes entrelazadas. La caja las convierte y eso ocupa medio procesador. Ponga el vídeo de la cámara en progresivo para evitarlo.
live-note-converts-profile = Los televisores no muestran el H.264 de esta cámara. La caja lo convierte y eso ocupa medio procesador. Elija en la cámara el perfil Main o High, de 8 bits.
live-note-reduced = La caja es demasiado lenta para la imagen completa. Muestra { $width_px } × { $height_px }, { $fps } por segundo.
live-note-too-slow = La caja es demasiado lenta para esta cámara. Se pierden algunas imágenes.
live-remote-screens = Pantallas: { $screens }
live-remote-stuck = Pantallas que no responden: { $screens }
live-remote-lost = Imágenes perdidas: { $pictures }
live-remote-memory = Falta memoria: las imágenes llegan { $reach } s atrás, no { $window } s.
live-remote-memory-delay = Falta memoria: las imágenes llegan { $reach } s atrás, no { $window } s. De momento se ven con { $delay } s de retraso.
live-remote-set = Listo: { $seconds } s después
live-remote-setting = Cambiando…
live-remote-bad-number = Escriba un número de segundos entre 0 y { $most }.
live-remote-bad-step = Use pasos de { $step } s.
live-remote-no-answer = La caja no contesta. Las TV siguen, o se tapan solas.
live-remote-not-set = Sin cambio: la caja no contesta. Vuelva a intentarlo cuando regrese.
live-remote-refused = Sin cambio: { $detail }
live-pair-no-answer = La caja no responde.

# The editor of a unit.
remote-unit-editor = Cambiar la unidad
unit-title = Unidad
unit-what = El circuito en palabras. Lo que cambie aquí se guarda en el archivo de la unidad.
unit-demo = Esta es la demostración: los cambios se olvidan cuando termina.
unit-no-script = Esta página necesita scripts. El archivo de la unidad también se puede cambiar con un editor de texto.
unit-others = Unidades
unit-none = Todavía no hay ningún archivo de unidad. Copie el de muestra en la carpeta de las unidades.
unit-bar = Guardar y deshacer
unit-save = Guardar
unit-undo = Deshacer
unit-back = Volver a lo guardado antes
unit-clash-title = Alguien más cambió esta unidad
unit-clash-what = No se ha sobrescrito nada. Aquí está lo que difiere entre las dos versiones. Elija con cuál seguir.
unit-clash-mine = Poner mis cambios encima
unit-clash-theirs = Dejar la otra versión
unit-sees = Lo que ve un grado
unit-grade = Grado
unit-remote = Control
live-unit-whole = Toda la unidad
live-unit-station = { $number } { $title }
live-unit-title = Título
live-unit-grades = Grados (– para todos)
live-unit-permissions-what = Algunos materiales y ejercicios no se usan hasta anotar aquí que están permitidos.
live-unit-permissions = Lo permitido
live-unit-permission = Permiso
live-unit-add-permission = Anotar un permiso
live-unit-permitted = Qué
live-unit-place = Dónde
live-unit-by = Por quién
live-unit-on = Fecha, como 2026-08-20
live-unit-ask-first = Preguntar antes (– si no hace falta)
live-unit-ask-mini-trampoline = minitrampolín
live-unit-ask-swing-rope = cuerda para columpiarse
live-unit-ask-climbing-wall = muro de escalada
live-unit-ask-inversions = cadera por encima de la cabeza
live-unit-number = Número
live-unit-shape = Forma
live-unit-shape-disc = disco
live-unit-shape-square = cuadrado
live-unit-shape-triangle = triángulo
live-unit-shape-diamond = rombo
live-unit-shape-star = estrella
live-unit-shape-ring = aro
live-unit-shape-cross = cruz
live-unit-shape-hexagon = hexágono
live-unit-colour = Color
live-unit-colour-black = negro
live-unit-colour-orange = naranja
live-unit-colour-sky-blue = azul cielo
live-unit-colour-green = verde
live-unit-colour-yellow = amarillo
live-unit-colour-blue = azul
live-unit-colour-vermilion = rojo
live-unit-colour-purple = morado
live-unit-task = Tarea
live-unit-lanes = Niños a la vez
live-unit-watch-from = Lugar para mirar
live-unit-hold = Mantener, en segundos
live-unit-delay = Retraso, en segundos
live-unit-one-way = En un solo sentido
live-unit-reset = Lo que acomoda el último
live-unit-reminders = Recordatorios
live-unit-reminder = Recordatorio
live-unit-add-reminder = Agregar un recordatorio
live-unit-cautions = Avisos para el adulto
live-unit-caution = Aviso
live-unit-add-caution = Agregar un aviso
live-unit-adult-hands = Hacen falta las manos de un adulto
live-unit-no-spotter = Qué se hace sin ellas
live-unit-kit = Material
live-unit-kit-line = Material
live-unit-add-kit = Agregar material
live-unit-item = Qué es
live-unit-count = Cuántos
live-unit-length = O cuánto mide, en cm
live-unit-levels = Niveles, lado a lado
live-unit-level = Nivel
live-unit-add-level = Agregar un nivel
live-unit-what-to-do = Qué hacer
live-unit-after = Va después de (– si no hay nada antes)
live-unit-figure = Figura
live-unit-other-ways = Otra manera, igual de válida
live-unit-other-way = Otra manera
live-unit-add-other-way = Agregar otra manera
live-unit-way = En qué cambia
live-unit-way-on-the-line = en la línea del piso
live-unit-way-with-support = con apoyo
live-unit-way-seated = sentado
live-unit-cues = Claves
live-unit-cue = Clave
live-unit-add-cue = Agregar una clave
live-unit-words = Palabras, siete como mucho
live-unit-of = Solo con (– para todos)
live-unit-bands = Bandas: lo que cambia para algunos grados
live-unit-band = Banda
live-unit-add-band = Agregar una banda
live-unit-differs = Qué más cambia
live-unit-differ = Que esto cambie
live-unit-same = Como en la estación
live-unit-up = Subir
live-unit-down = Bajar
live-unit-remove = Quitar
live-unit-add-station = Agregar una estación
live-unit-no-room = La unidad no se puede usar así. Corrija lo que está marcado arriba.
live-unit-choices = Elige la tuya
live-unit-left-out = No está
live-unit-out-ask = { $what }: hay que preguntar antes ({ $ask })
live-unit-out-after = { $what }: falta lo que va antes
live-unit-no-answer = La caja no responde. Lo que escribió sigue aquí.
live-unit-mistakes = Por corregir: { $count }
live-unit-kept = Lo que había escrito está aquí otra vez, sin guardar.
live-unit-kept-onto = La unidad cambió mientras tanto. Lo que había escrito está encima, sin guardar.
live-unit-saving = Guardando…
live-unit-saved = Guardado.
live-unit-not-saved = Sin guardar: corrija antes lo marcado.
live-unit-yours = Su versión: { $value }
live-unit-theirs = La otra versión: { $value }
live-unit-some-lost = Sus cambios están encima, sin guardar. { $count } ya no encajan.
live-unit-onto = Sus cambios están encima, sin guardar.
live-unit-kept-theirs = La otra versión. Sus cambios se descartaron.
live-unit-changed = El archivo cambió en otro lugar. Así está ahora.
live-unit-undone = Deshecho.
