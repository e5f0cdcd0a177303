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
home-numbers = En un teléfono o una tableta
home-trust = ¿El dispositivo avisa? Haga que confíe en la caja

# La página de la TV
tv-no-script = Esta página necesita scripts para mostrar la imagen.

# El control
remote-title = Control
remote-intro = Cuánto se retrasa cada pantalla. Los cambios se ven enseguida en la pantalla.
remote-none = Todavía no hay estaciones. Agregue una cámara en el archivo de configuración de la caja y vuelva a encenderla.
remote-home = Todas las páginas
remote-roster = Clases y permisos
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
# Trusting the box
trust-title = Que un dispositivo confíe en la caja
trust-what = Teléfonos, tabletas y computadoras llegan a la caja por una línea cifrada. Cada uno tiene que confiar una vez en el certificado de la caja; hasta entonces avisa. Para el técnico de la escuela, unos minutos por dispositivo.
trust-school = Esta caja muestra un certificado de su escuela. Los dispositivos que confían en la escuela no tienen que hacer nada.
trust-fingerprint-title = Primero, compare
trust-fingerprint-what = La caja escribe esta huella donde se la puso en marcha, y en su registro. Compárela allí, no solo aquí. Si un par es distinto, deténgase: puede haber alguien entre usted y la caja.
trust-get-title = Después, descargue el certificado
trust-get = Certificado, para casi todos los dispositivos
trust-get-pem = El mismo como texto, para Linux
trust-limits = Responde por { $name } y por direcciones de dentro de un edificio, solo para páginas web, hasta el { $until }.
trust-devices-title = Y haga que el dispositivo confíe en él
trust-many = Muchos a la vez:
trust-windows = Windows
trust-windows-1 = Abra el archivo descargado y elija «Instalar certificado», luego «Equipo local».
trust-windows-2 = Elija «Colocar todos los certificados en el siguiente almacén» y «Entidades de certificación raíz de confianza».
trust-windows-3 = Termine y vuelva a abrir el navegador.
trust-windows-many = Directiva de grupo, Directivas de clave pública, Entidades de certificación raíz de confianza.
trust-mac = Mac
trust-mac-1 = Abra el archivo descargado. Acceso a Llaveros lo añade; elija el llavero «Sistema».
trust-mac-2 = Ábralo en la lista, abra «Confiar» y ponga «Capa de conexión segura (SSL)» en «Confiar siempre».
trust-mac-3 = Cierre la ventana y escriba la contraseña de administrador.
trust-mac-many = Gestión de dispositivos, con una carga de certificado.
trust-ios = iPad y iPhone
trust-ios-1 = Abra esta página en Safari, toque el certificado y permita el perfil.
trust-ios-2 = Ajustes, General, VPN y gestión de dispositivos: abra el perfil descargado e instálelo.
trust-ios-3 = El segundo interruptor: Ajustes, General, Información, Ajustes de confianza de los certificados: active la confianza total. Sin él, el dispositivo sigue avisando.
trust-ios-many = Gestión de dispositivos, con una carga de certificado; así no hay segundo interruptor.
trust-chromeos = Chromebook
trust-chromeos-1 = Escriba chrome://certificate-manager como dirección. En los más antiguos: Configuración, Privacidad y seguridad, Gestionar certificados, Autoridades.
trust-chromeos-2 = Importe el archivo descargado y confíe en él para sitios web.
trust-chromeos-many = Consola de administración, Dispositivos, Redes, Certificados. Un Chromebook administrado quizá solo lo acepte de allí.
trust-android = Android
trust-android-1 = En Ajustes busque «certificado CA». Está en Seguridad, Cifrado y credenciales, Instalar un certificado.
trust-android-2 = Elija «Certificado de CA», «Instalar de todos modos» y el archivo descargado. Android pide un bloqueo de pantalla.
trust-android-3 = Antes de Android 12 use una dirección con números, más abajo. Que la red podría estar vigilada, Android lo dice de cada certificado añadido.
trust-android-many = Gestión de dispositivos, como certificado de CA de confianza.
trust-linux = Linux
trust-linux-1 = Guarde el texto como /usr/local/share/ca-certificates/afterturn.crt y ejecute update-ca-certificates como root.
trust-linux-2 = Chrome y Chromium tienen su propia lista: chrome://certificate-manager, importar, confiar para sitios web.
trust-linux-many = El mismo archivo con su herramienta habitual.
trust-firefox = Firefox, en cualquier sistema
trust-firefox-1 = Ajustes, Privacidad y seguridad, Ver certificados, Autoridades, Importar.
trust-firefox-2 = Marque «Confiar en esta CA para identificar sitios web».
trust-firefox-many = La directiva «Certificates», «ImportEnterpriseRoots» o «Install».
trust-tv = Televisores
trust-tv-1 = La mayoría de los televisores no aceptan certificados. El televisor conectado como pantalla de la propia caja no lo necesita; para otros, vea plain_screens en el archivo de configuración.
trust-try-title = Pruébelo
trust-try = Cierre esta página y abra la caja por una de estas direcciones. Ya no hay aviso.
trust-try-number = Con números, para dispositivos que no encuentran el nombre:
trust-undo = Para retirar la confianza, quite el certificado de donde lo añadió; se llama «Afterturn box».

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
