// Written by .dev/make-catalogue.mjs from data/stars.csv; change that table, not this file.

/**
 * The names that an editor completes: every star's label (its IAU name, else its Bayer or Flamsteed designation, else
 * its Hipparcos number) and, for a label with a Greek letter, the same with the letter written out. Look-up by
 * {@link findStar} takes many more spellings.
 */
export type StarName =
  | "Acamar"
  | "Achernar"
  | "Achird"
  | "Acrab"
  | "Acrux"
  | "Acubens"
  | "Adhafera"
  | "Adhara"
  | "Adhil"
  | "Ain"
  | "Ainalrami"
  | "Aladfar"
  | "Albaldah"
  | "Albali"
  | "Albireo"
  | "Alchiba"
  | "Alcor"
  | "Alcyone"
  | "Aldebaran"
  | "Alderamin"
  | "Aldhanab"
  | "Aldhibah"
  | "Aldulfin"
  | "Alfirk"
  | "Algedi"
  | "Algenib"
  | "Algieba"
  | "Algol"
  | "Algorab"
  | "Alhena"
  | "Alioth"
  | "Aljanah"
  | "Alkaid"
  | "Alkalurops"
  | "Alkaphrah"
  | "Alkarab"
  | "Alkes"
  | "Almaaz"
  | "Almach"
  | "Alnair"
  | "Alnasl"
  | "Alnilam"
  | "Alnitak"
  | "Alniyat"
  | "Alphard"
  | "Alphecca"
  | "Alpheratz"
  | "Alpherg"
  | "Alrakis"
  | "Alrescha"
  | "Alruba"
  | "Alsafi"
  | "Alsciaukat"
  | "Alsephina"
  | "Alshain"
  | "Alshat"
  | "Altair"
  | "Altais"
  | "Alterf"
  | "Aludra"
  | "Alula Australis"
  | "Alula Borealis"
  | "Alya"
  | "Alzirr"
  | "Ancha"
  | "Angetenar"
  | "Ankaa"
  | "Anser"
  | "Antares"
  | "Arcturus"
  | "Arkab Posterior"
  | "Arkab Prior"
  | "Arneb"
  | "Ascella"
  | "Asellus Australis"
  | "Asellus Borealis"
  | "Ashlesha"
  | "Aspidiske"
  | "Asterope"
  | "Athebyne"
  | "Atik"
  | "Atlas"
  | "Atria"
  | "Avior"
  | "Azelfafage"
  | "Azha"
  | "Azmidi"
  | "Baten Kaitos"
  | "Beemim"
  | "Beid"
  | "Bellatrix"
  | "Betelgeuse"
  | "Bharani"
  | "Biham"
  | "Botein"
  | "Brachium"
  | "Bunda"
  | "Canopus"
  | "Capella"
  | "Caph"
  | "Castor"
  | "Castula"
  | "Cebalrai"
  | "Celaeno"
  | "Cervantes"
  | "Chalawan"
  | "Chamukuy"
  | "Chara"
  | "Chertan"
  | "Copernicus"
  | "Cor Caroli"
  | "Cujam"
  | "Cursa"
  | "Dabih"
  | "Dalim"
  | "Deneb"
  | "Deneb Algedi"
  | "Denebola"
  | "Diadem"
  | "Diphda"
  | "Dschubba"
  | "Dubhe"
  | "Dziban"
  | "Edasich"
  | "Electra"
  | "Elgafar"
  | "Elkurud"
  | "Elnath"
  | "Eltanin"
  | "Enif"
  | "Errai"
  | "Fafnir"
  | "Fang"
  | "Fawaris"
  | "Felis"
  | "Fomalhaut"
  | "Fulu"
  | "Fumalsamakah"
  | "Furud"
  | "Fuyue"
  | "Gacrux"
  | "Giausar"
  | "Gienah"
  | "Ginan"
  | "Gomeisa"
  | "Grumium"
  | "Gudja"
  | "Guniibuu"
  | "HIP 65835"
  | "Hadar"
  | "Haedus"
  | "Hamal"
  | "Hassaleh"
  | "Hatysa"
  | "Helvetios"
  | "Heze"
  | "Homam"
  | "Iklil"
  | "Imai"
  | "Intercrus"
  | "Izar"
  | "Jabbah"
  | "Jishui"
  | "Kaffaljidhma"
  | "Kang"
  | "Kaus Australis"
  | "Kaus Borealis"
  | "Kaus Media"
  | "Keid"
  | "Khambalia"
  | "Kitalpha"
  | "Kochab"
  | "Kornephoros"
  | "Kraz"
  | "Kurhah"
  | "La Superba"
  | "Larawag"
  | "Lesath"
  | "Libertas"
  | "Lilii Borea"
  | "Maasym"
  | "Mahasim"
  | "Maia"
  | "Marfik"
  | "Markab"
  | "Markeb"
  | "Marsic"
  | "Matar"
  | "Mebsuta"
  | "Megrez"
  | "Meissa"
  | "Mekbuda"
  | "Menkalinan"
  | "Menkar"
  | "Menkent"
  | "Menkib"
  | "Merak"
  | "Merga"
  | "Meridiana"
  | "Merope"
  | "Mesarthim"
  | "Miaplacidus"
  | "Mimosa"
  | "Minchir"
  | "Minelauva"
  | "Mintaka"
  | "Mira"
  | "Mirach"
  | "Miram"
  | "Mirfak"
  | "Mirzam"
  | "Misam"
  | "Mizar"
  | "Mothallah"
  | "Muliphein"
  | "Muphrid"
  | "Muscida"
  | "Musica"
  | "N Vel"
  | "Nahn"
  | "Naos"
  | "Nashira"
  | "Nekkar"
  | "Nembus"
  | "Nganurganity"
  | "Nihal"
  | "Nunki"
  | "Nusakan"
  | "Okab"
  | "Paikauhale"
  | "Peacock"
  | "Phact"
  | "Phecda"
  | "Pherkad"
  | "Piautos"
  | "Pipirima"
  | "Pleione"
  | "Polaris"
  | "Polaris Australis"
  | "Polis"
  | "Pollux"
  | "Porrima"
  | "Praecipua"
  | "Prima Hyadum"
  | "Procyon"
  | "Propus"
  | "Ran"
  | "Rana"
  | "Rasalas"
  | "Rasalgethi"
  | "Rasalhague"
  | "Rastaban"
  | "Regulus"
  | "Revati"
  | "Rigel"
  | "Rigil Kentaurus"
  | "Rotanev"
  | "Ruchbah"
  | "Rukbat"
  | "Sabik"
  | "Saclateni"
  | "Sadachbia"
  | "Sadalbari"
  | "Sadalmelik"
  | "Sadalsuud"
  | "Sadr"
  | "Saiph"
  | "Salm"
  | "Sargas"
  | "Sarin"
  | "Sceptrum"
  | "Scheat"
  | "Schedar"
  | "Secunda Hyadum"
  | "Segin"
  | "Seginus"
  | "Sham"
  | "Shaula"
  | "Sheliak"
  | "Sheratan"
  | "Sirius"
  | "Situla"
  | "Skat"
  | "Spica"
  | "Sualocin"
  | "Subra"
  | "Suhail"
  | "Sulafat"
  | "Syrma"
  | "Tabit"
  | "Taiyangshou"
  | "Taiyi"
  | "Talitha"
  | "Tania Australis"
  | "Tania Borealis"
  | "Tarazed"
  | "Tarf"
  | "Taygeta"
  | "Tegmine"
  | "Tejat"
  | "Terebellum"
  | "Theemin"
  | "Thuban"
  | "Tiaki"
  | "Tianguan"
  | "Tianyi"
  | "Titawin"
  | "Toliman"
  | "Tonatiuh"
  | "Torcular"
  | "Tureis"
  | "Ukdah"
  | "Unukalhai"
  | "Vega"
  | "Veritate"
  | "Vindemiatrix"
  | "Wasat"
  | "Wazn"
  | "Wezen"
  | "Wurren"
  | "Xamidimura"
  | "Xuange"
  | "Yed Posterior"
  | "Yed Prior"
  | "Yildun"
  | "Zaniah"
  | "Zaurak"
  | "Zavijava"
  | "Zhang"
  | "Zibal"
  | "Zosma"
  | "Zubenelgenubi"
  | "Zubenelhakrabi"
  | "Zubeneschamali"
  | "a Car"
  | "alpha Ara"
  | "alpha Cir"
  | "alpha Dor"
  | "alpha Hyi"
  | "alpha Ind"
  | "alpha Lup"
  | "alpha Lyn"
  | "alpha Mus"
  | "alpha Pic"
  | "alpha Ret"
  | "alpha Tel"
  | "alpha Tuc"
  | "beta Ara"
  | "beta Hyi"
  | "beta Lup"
  | "beta Mus"
  | "beta Pav"
  | "beta Phe"
  | "beta TrA"
  | "beta Tri"
  | "chi Car"
  | "chi Cyg"
  | "delta And"
  | "delta Aql"
  | "delta Boo"
  | "delta Cen"
  | "delta Lup"
  | "delta Per"
  | "epsilon Cen"
  | "epsilon Crv"
  | "epsilon Gru"
  | "epsilon Leo"
  | "epsilon Lep"
  | "epsilon Lup"
  | "epsilon Per"
  | "eta Cen"
  | "eta Cep"
  | "eta Cet"
  | "eta Her"
  | "eta Leo"
  | "eta Lup"
  | "eta Ori"
  | "eta Sco"
  | "eta Ser"
  | "eta Sgr"
  | "gamma Ara"
  | "gamma Cas"
  | "gamma Cen"
  | "gamma Hya"
  | "gamma Hyi"
  | "gamma Lup"
  | "gamma Per"
  | "gamma Phe"
  | "gamma TrA"
  | "gamma2 Vel"
  | "iota Cen"
  | "iota Cep"
  | "iota1 Sco"
  | "kappa CMa"
  | "kappa Cen"
  | "kappa Oph"
  | "kappa Sco"
  | "lambda Aql"
  | "lambda Cen"
  | "lambda Tau"
  | "mu Cen"
  | "mu Her"
  | "mu Lep"
  | "mu Vel"
  | "nu Cen"
  | "nu Hya"
  | "nu Oph"
  | "nu Pup"
  | "omega Car"
  | "omicron2 CMa"
  | "p Car"
  | "phi Sgr"
  | "pi Her"
  | "pi Hya"
  | "pi Pup"
  | "psi UMa"
  | "q Car"
  | "rho Per"
  | "sigma Pup"
  | "tau Cet"
  | "tau Pup"
  | "tau Sgr"
  | "theta Aql"
  | "theta Car"
  | "theta Oph"
  | "theta UMa"
  | "upsilon Car"
  | "zeta Ara"
  | "zeta Cen"
  | "zeta Cep"
  | "zeta Cyg"
  | "zeta Her"
  | "zeta Hya"
  | "zeta Lup"
  | "zeta Oph"
  | "zeta Per"
  | "α Ara"
  | "α Cir"
  | "α Dor"
  | "α Hyi"
  | "α Ind"
  | "α Lup"
  | "α Lyn"
  | "α Mus"
  | "α Pic"
  | "α Ret"
  | "α Tel"
  | "α Tuc"
  | "β Ara"
  | "β Hyi"
  | "β Lup"
  | "β Mus"
  | "β Pav"
  | "β Phe"
  | "β TrA"
  | "β Tri"
  | "γ Ara"
  | "γ Cas"
  | "γ Cen"
  | "γ Hya"
  | "γ Hyi"
  | "γ Lup"
  | "γ Per"
  | "γ Phe"
  | "γ TrA"
  | "γ2 Vel"
  | "δ And"
  | "δ Aql"
  | "δ Boo"
  | "δ Cen"
  | "δ Lup"
  | "δ Per"
  | "ε Cen"
  | "ε Crv"
  | "ε Gru"
  | "ε Leo"
  | "ε Lep"
  | "ε Lup"
  | "ε Per"
  | "ζ Ara"
  | "ζ Cen"
  | "ζ Cep"
  | "ζ Cyg"
  | "ζ Her"
  | "ζ Hya"
  | "ζ Lup"
  | "ζ Oph"
  | "ζ Per"
  | "η Cen"
  | "η Cep"
  | "η Cet"
  | "η Her"
  | "η Leo"
  | "η Lup"
  | "η Ori"
  | "η Sco"
  | "η Ser"
  | "η Sgr"
  | "θ Aql"
  | "θ Car"
  | "θ Oph"
  | "θ UMa"
  | "ι Cen"
  | "ι Cep"
  | "ι1 Sco"
  | "κ CMa"
  | "κ Cen"
  | "κ Oph"
  | "κ Sco"
  | "λ Aql"
  | "λ Cen"
  | "λ Tau"
  | "μ Cen"
  | "μ Her"
  | "μ Lep"
  | "μ Vel"
  | "ν Cen"
  | "ν Hya"
  | "ν Oph"
  | "ν Pup"
  | "ο2 CMa"
  | "π Her"
  | "π Hya"
  | "π Pup"
  | "ρ Per"
  | "σ Pup"
  | "τ Cet"
  | "τ Pup"
  | "τ Sgr"
  | "υ Car"
  | "φ Sgr"
  | "χ Car"
  | "χ Cyg"
  | "ψ UMa"
  | "ω Car";

/** Every {@link StarName}, in order. */
export const starNames: readonly StarName[] = [
  "Acamar",
  "Achernar",
  "Achird",
  "Acrab",
  "Acrux",
  "Acubens",
  "Adhafera",
  "Adhara",
  "Adhil",
  "Ain",
  "Ainalrami",
  "Aladfar",
  "Albaldah",
  "Albali",
  "Albireo",
  "Alchiba",
  "Alcor",
  "Alcyone",
  "Aldebaran",
  "Alderamin",
  "Aldhanab",
  "Aldhibah",
  "Aldulfin",
  "Alfirk",
  "Algedi",
  "Algenib",
  "Algieba",
  "Algol",
  "Algorab",
  "Alhena",
  "Alioth",
  "Aljanah",
  "Alkaid",
  "Alkalurops",
  "Alkaphrah",
  "Alkarab",
  "Alkes",
  "Almaaz",
  "Almach",
  "Alnair",
  "Alnasl",
  "Alnilam",
  "Alnitak",
  "Alniyat",
  "Alphard",
  "Alphecca",
  "Alpheratz",
  "Alpherg",
  "Alrakis",
  "Alrescha",
  "Alruba",
  "Alsafi",
  "Alsciaukat",
  "Alsephina",
  "Alshain",
  "Alshat",
  "Altair",
  "Altais",
  "Alterf",
  "Aludra",
  "Alula Australis",
  "Alula Borealis",
  "Alya",
  "Alzirr",
  "Ancha",
  "Angetenar",
  "Ankaa",
  "Anser",
  "Antares",
  "Arcturus",
  "Arkab Posterior",
  "Arkab Prior",
  "Arneb",
  "Ascella",
  "Asellus Australis",
  "Asellus Borealis",
  "Ashlesha",
  "Aspidiske",
  "Asterope",
  "Athebyne",
  "Atik",
  "Atlas",
  "Atria",
  "Avior",
  "Azelfafage",
  "Azha",
  "Azmidi",
  "Baten Kaitos",
  "Beemim",
  "Beid",
  "Bellatrix",
  "Betelgeuse",
  "Bharani",
  "Biham",
  "Botein",
  "Brachium",
  "Bunda",
  "Canopus",
  "Capella",
  "Caph",
  "Castor",
  "Castula",
  "Cebalrai",
  "Celaeno",
  "Cervantes",
  "Chalawan",
  "Chamukuy",
  "Chara",
  "Chertan",
  "Copernicus",
  "Cor Caroli",
  "Cujam",
  "Cursa",
  "Dabih",
  "Dalim",
  "Deneb",
  "Deneb Algedi",
  "Denebola",
  "Diadem",
  "Diphda",
  "Dschubba",
  "Dubhe",
  "Dziban",
  "Edasich",
  "Electra",
  "Elgafar",
  "Elkurud",
  "Elnath",
  "Eltanin",
  "Enif",
  "Errai",
  "Fafnir",
  "Fang",
  "Fawaris",
  "Felis",
  "Fomalhaut",
  "Fulu",
  "Fumalsamakah",
  "Furud",
  "Fuyue",
  "Gacrux",
  "Giausar",
  "Gienah",
  "Ginan",
  "Gomeisa",
  "Grumium",
  "Gudja",
  "Guniibuu",
  "HIP 65835",
  "Hadar",
  "Haedus",
  "Hamal",
  "Hassaleh",
  "Hatysa",
  "Helvetios",
  "Heze",
  "Homam",
  "Iklil",
  "Imai",
  "Intercrus",
  "Izar",
  "Jabbah",
  "Jishui",
  "Kaffaljidhma",
  "Kang",
  "Kaus Australis",
  "Kaus Borealis",
  "Kaus Media",
  "Keid",
  "Khambalia",
  "Kitalpha",
  "Kochab",
  "Kornephoros",
  "Kraz",
  "Kurhah",
  "La Superba",
  "Larawag",
  "Lesath",
  "Libertas",
  "Lilii Borea",
  "Maasym",
  "Mahasim",
  "Maia",
  "Marfik",
  "Markab",
  "Markeb",
  "Marsic",
  "Matar",
  "Mebsuta",
  "Megrez",
  "Meissa",
  "Mekbuda",
  "Menkalinan",
  "Menkar",
  "Menkent",
  "Menkib",
  "Merak",
  "Merga",
  "Meridiana",
  "Merope",
  "Mesarthim",
  "Miaplacidus",
  "Mimosa",
  "Minchir",
  "Minelauva",
  "Mintaka",
  "Mira",
  "Mirach",
  "Miram",
  "Mirfak",
  "Mirzam",
  "Misam",
  "Mizar",
  "Mothallah",
  "Muliphein",
  "Muphrid",
  "Muscida",
  "Musica",
  "N Vel",
  "Nahn",
  "Naos",
  "Nashira",
  "Nekkar",
  "Nembus",
  "Nganurganity",
  "Nihal",
  "Nunki",
  "Nusakan",
  "Okab",
  "Paikauhale",
  "Peacock",
  "Phact",
  "Phecda",
  "Pherkad",
  "Piautos",
  "Pipirima",
  "Pleione",
  "Polaris",
  "Polaris Australis",
  "Polis",
  "Pollux",
  "Porrima",
  "Praecipua",
  "Prima Hyadum",
  "Procyon",
  "Propus",
  "Ran",
  "Rana",
  "Rasalas",
  "Rasalgethi",
  "Rasalhague",
  "Rastaban",
  "Regulus",
  "Revati",
  "Rigel",
  "Rigil Kentaurus",
  "Rotanev",
  "Ruchbah",
  "Rukbat",
  "Sabik",
  "Saclateni",
  "Sadachbia",
  "Sadalbari",
  "Sadalmelik",
  "Sadalsuud",
  "Sadr",
  "Saiph",
  "Salm",
  "Sargas",
  "Sarin",
  "Sceptrum",
  "Scheat",
  "Schedar",
  "Secunda Hyadum",
  "Segin",
  "Seginus",
  "Sham",
  "Shaula",
  "Sheliak",
  "Sheratan",
  "Sirius",
  "Situla",
  "Skat",
  "Spica",
  "Sualocin",
  "Subra",
  "Suhail",
  "Sulafat",
  "Syrma",
  "Tabit",
  "Taiyangshou",
  "Taiyi",
  "Talitha",
  "Tania Australis",
  "Tania Borealis",
  "Tarazed",
  "Tarf",
  "Taygeta",
  "Tegmine",
  "Tejat",
  "Terebellum",
  "Theemin",
  "Thuban",
  "Tiaki",
  "Tianguan",
  "Tianyi",
  "Titawin",
  "Toliman",
  "Tonatiuh",
  "Torcular",
  "Tureis",
  "Ukdah",
  "Unukalhai",
  "Vega",
  "Veritate",
  "Vindemiatrix",
  "Wasat",
  "Wazn",
  "Wezen",
  "Wurren",
  "Xamidimura",
  "Xuange",
  "Yed Posterior",
  "Yed Prior",
  "Yildun",
  "Zaniah",
  "Zaurak",
  "Zavijava",
  "Zhang",
  "Zibal",
  "Zosma",
  "Zubenelgenubi",
  "Zubenelhakrabi",
  "Zubeneschamali",
  "a Car",
  "alpha Ara",
  "alpha Cir",
  "alpha Dor",
  "alpha Hyi",
  "alpha Ind",
  "alpha Lup",
  "alpha Lyn",
  "alpha Mus",
  "alpha Pic",
  "alpha Ret",
  "alpha Tel",
  "alpha Tuc",
  "beta Ara",
  "beta Hyi",
  "beta Lup",
  "beta Mus",
  "beta Pav",
  "beta Phe",
  "beta TrA",
  "beta Tri",
  "chi Car",
  "chi Cyg",
  "delta And",
  "delta Aql",
  "delta Boo",
  "delta Cen",
  "delta Lup",
  "delta Per",
  "epsilon Cen",
  "epsilon Crv",
  "epsilon Gru",
  "epsilon Leo",
  "epsilon Lep",
  "epsilon Lup",
  "epsilon Per",
  "eta Cen",
  "eta Cep",
  "eta Cet",
  "eta Her",
  "eta Leo",
  "eta Lup",
  "eta Ori",
  "eta Sco",
  "eta Ser",
  "eta Sgr",
  "gamma Ara",
  "gamma Cas",
  "gamma Cen",
  "gamma Hya",
  "gamma Hyi",
  "gamma Lup",
  "gamma Per",
  "gamma Phe",
  "gamma TrA",
  "gamma2 Vel",
  "iota Cen",
  "iota Cep",
  "iota1 Sco",
  "kappa CMa",
  "kappa Cen",
  "kappa Oph",
  "kappa Sco",
  "lambda Aql",
  "lambda Cen",
  "lambda Tau",
  "mu Cen",
  "mu Her",
  "mu Lep",
  "mu Vel",
  "nu Cen",
  "nu Hya",
  "nu Oph",
  "nu Pup",
  "omega Car",
  "omicron2 CMa",
  "p Car",
  "phi Sgr",
  "pi Her",
  "pi Hya",
  "pi Pup",
  "psi UMa",
  "q Car",
  "rho Per",
  "sigma Pup",
  "tau Cet",
  "tau Pup",
  "tau Sgr",
  "theta Aql",
  "theta Car",
  "theta Oph",
  "theta UMa",
  "upsilon Car",
  "zeta Ara",
  "zeta Cen",
  "zeta Cep",
  "zeta Cyg",
  "zeta Her",
  "zeta Hya",
  "zeta Lup",
  "zeta Oph",
  "zeta Per",
  "α Ara",
  "α Cir",
  "α Dor",
  "α Hyi",
  "α Ind",
  "α Lup",
  "α Lyn",
  "α Mus",
  "α Pic",
  "α Ret",
  "α Tel",
  "α Tuc",
  "β Ara",
  "β Hyi",
  "β Lup",
  "β Mus",
  "β Pav",
  "β Phe",
  "β TrA",
  "β Tri",
  "γ Ara",
  "γ Cas",
  "γ Cen",
  "γ Hya",
  "γ Hyi",
  "γ Lup",
  "γ Per",
  "γ Phe",
  "γ TrA",
  "γ2 Vel",
  "δ And",
  "δ Aql",
  "δ Boo",
  "δ Cen",
  "δ Lup",
  "δ Per",
  "ε Cen",
  "ε Crv",
  "ε Gru",
  "ε Leo",
  "ε Lep",
  "ε Lup",
  "ε Per",
  "ζ Ara",
  "ζ Cen",
  "ζ Cep",
  "ζ Cyg",
  "ζ Her",
  "ζ Hya",
  "ζ Lup",
  "ζ Oph",
  "ζ Per",
  "η Cen",
  "η Cep",
  "η Cet",
  "η Her",
  "η Leo",
  "η Lup",
  "η Ori",
  "η Sco",
  "η Ser",
  "η Sgr",
  "θ Aql",
  "θ Car",
  "θ Oph",
  "θ UMa",
  "ι Cen",
  "ι Cep",
  "ι1 Sco",
  "κ CMa",
  "κ Cen",
  "κ Oph",
  "κ Sco",
  "λ Aql",
  "λ Cen",
  "λ Tau",
  "μ Cen",
  "μ Her",
  "μ Lep",
  "μ Vel",
  "ν Cen",
  "ν Hya",
  "ν Oph",
  "ν Pup",
  "ο2 CMa",
  "π Her",
  "π Hya",
  "π Pup",
  "ρ Per",
  "σ Pup",
  "τ Cet",
  "τ Pup",
  "τ Sgr",
  "υ Car",
  "φ Sgr",
  "χ Car",
  "χ Cyg",
  "ψ UMa",
  "ω Car",
];
