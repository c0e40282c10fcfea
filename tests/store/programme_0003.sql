-- An invented programme as version 0003 of the tables held it.
BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0003');
CREATE TABLE assessment (
	reference_hash VARCHAR(64) NOT NULL, 
	region VARCHAR(32) NOT NULL, 
	at VARCHAR(32) NOT NULL, 
	result TEXT NOT NULL, 
	PRIMARY KEY (reference_hash, region)
);
CREATE TABLE colony (
	id VARCHAR(16) NOT NULL, 
	number INTEGER NOT NULL, 
	name VARCHAR(120) NOT NULL, 
	genus VARCHAR(80), 
	shown_name VARCHAR(200) NOT NULL, 
	status VARCHAR(32) NOT NULL, 
	needs VARCHAR(16) NOT NULL, 
	probability FLOAT, 
	kind VARCHAR(16) NOT NULL, 
	site VARCHAR(16), 
	event VARCHAR(16), 
	region VARCHAR(32), 
	seen_on VARCHAR(10) NOT NULL, 
	changed_at VARCHAR(32) NOT NULL, 
	observer VARCHAR(16), 
	photo VARCHAR(64), 
	withdrawn BOOLEAN NOT NULL, 
	words TEXT NOT NULL, waits_reading BOOLEAN DEFAULT 0 NOT NULL, waits_voucher BOOLEAN DEFAULT 0 NOT NULL, 
	PRIMARY KEY (id), 
	UNIQUE (number), 
	FOREIGN KEY(site) REFERENCES site (id), 
	FOREIGN KEY(event) REFERENCES event (id), 
	FOREIGN KEY(observer) REFERENCES person (id), 
	FOREIGN KEY(photo) REFERENCES photo (sha256)
);
INSERT INTO "colony" VALUES('dg93dkerbkrx',1,'first','Favites','Favites sp.','overridden','nothing',NULL,'override','qy2q9hx8q5az',NULL,'red_sea','2026-03-14','2026-03-14T09:30:14.000000Z','8t8dmh20vrth','fcc837cf8a10515ee03402c01bd124679f0ad29e04aa85bd2c70795477361f6c',0,'1 first favites sp. beside the buoy',0,0);
INSERT INTO "colony" VALUES('d1pgveb1emrv',2,'second',NULL,'','not_determined','',NULL,'',NULL,NULL,'red_sea','2026-03-14','2026-03-14T09:30:17.000000Z','8t8dmh20vrth',NULL,0,'2 second ',0,0);
INSERT INTO "colony" VALUES('6js8btjgngzr',3,'third',NULL,'Scleractinia indet.','open','look',9.12231727009618076351e-01,'model',NULL,NULL,'red_sea','2026-03-14','2026-03-14T09:30:28.000000Z','8t8dmh20vrth',NULL,0,'3 third scleractinia indet.',1,0);
CREATE TABLE colony_photo (
	history INTEGER NOT NULL, 
	colony VARCHAR(16) NOT NULL, 
	photo VARCHAR(64) NOT NULL, 
	caption TEXT NOT NULL, 
	PRIMARY KEY (history), 
	FOREIGN KEY(history) REFERENCES history (id), 
	FOREIGN KEY(colony) REFERENCES colony (id), 
	FOREIGN KEY(photo) REFERENCES photo (sha256)
);
INSERT INTO "colony_photo" VALUES(17,'dg93dkerbkrx','fcc837cf8a10515ee03402c01bd124679f0ad29e04aa85bd2c70795477361f6c','from above');
CREATE TABLE determination (
	history INTEGER NOT NULL, 
	colony VARCHAR(16) NOT NULL, 
	kind VARCHAR(16) NOT NULL, 
	status VARCHAR(32) NOT NULL, 
	genera TEXT NOT NULL, 
	name VARCHAR(200) NOT NULL, 
	probability FLOAT, 
	rank VARCHAR(16) NOT NULL, 
	needs VARCHAR(16) NOT NULL, 
	reason TEXT NOT NULL, 
	reference_hash VARCHAR(64) NOT NULL, 
	reference_version VARCHAR(80) NOT NULL, 
	program VARCHAR(32) NOT NULL, 
	observer_errors VARCHAR(16) NOT NULL, 
	evidence_upto INTEGER NOT NULL, 
	PRIMARY KEY (history), 
	FOREIGN KEY(history) REFERENCES history (id), 
	FOREIGN KEY(colony) REFERENCES colony (id)
);
INSERT INTO "determination" VALUES(16,'dg93dkerbkrx','model','open','["Dipsastraea", "Favites", "Astrea", "Goniastrea", "Diploastrea", "Acanthastrea", "Micromussa", "Tubastraea", "Echinopora", "Goniopora", "Coelastrea", "Paragoniastrea", "Paramontastraea"]','Scleractinia indet.',9.00048075858965845874e-01,'order','look','','b9395013314dc9bc8b3e9f9bc0d9ea7f10e525350ca85ff4d902ce1b880988ce','0.1.0, 0 edits','0.1.0','unknown',15);
INSERT INTO "determination" VALUES(19,'dg93dkerbkrx','override','overridden','["Favites"]','Favites sp.',NULL,'genus','nothing','walls seen again','b9395013314dc9bc8b3e9f9bc0d9ea7f10e525350ca85ff4d902ce1b880988ce','0.1.0, 0 edits','0.1.0','',18);
INSERT INTO "determination" VALUES(41,'6js8btjgngzr','model','open','["Diploastrea", "Dipsastraea", "Astrea", "Favites", "Echinopora"]','Scleractinia indet.',9.12231727009618076351e-01,'order','look','','b9395013314dc9bc8b3e9f9bc0d9ea7f10e525350ca85ff4d902ce1b880988ce','0.1.0, 0 edits','0.1.0','unknown',40);
CREATE TABLE device (
	id VARCHAR(16) NOT NULL, 
	person VARCHAR(16) NOT NULL, 
	name VARCHAR(120) NOT NULL, 
	token_hash VARCHAR(64) NOT NULL, 
	paired_at VARCHAR(32) NOT NULL, 
	revoked BOOLEAN NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(person) REFERENCES person (id), 
	UNIQUE (token_hash)
);
CREATE TABLE entry (
	history INTEGER NOT NULL, 
	colony VARCHAR(16) NOT NULL, 
	kind VARCHAR(16) NOT NULL, 
	subject VARCHAR(64) NOT NULL, 
	report TEXT NOT NULL, 
	measurement INTEGER, 
	PRIMARY KEY (history), 
	FOREIGN KEY(history) REFERENCES history (id), 
	FOREIGN KEY(colony) REFERENCES colony (id), 
	FOREIGN KEY(measurement) REFERENCES measurement (history)
);
INSERT INTO "entry" VALUES(7,'dg93dkerbkrx','site','','"qy2q9hx8q5az"',NULL);
INSERT INTO "entry" VALUES(8,'dg93dkerbkrx','region','','"red_sea"',NULL);
INSERT INTO "entry" VALUES(9,'dg93dkerbkrx','observer','','"8t8dmh20vrth"',NULL);
INSERT INTO "entry" VALUES(10,'dg93dkerbkrx','name','','"first"',NULL);
INSERT INTO "entry" VALUES(11,'dg93dkerbkrx','seen_on','','"2026-03-14"',NULL);
INSERT INTO "entry" VALUES(12,'dg93dkerbkrx','report','growth_form','{"states": ["massive"], "sure": true}',NULL);
INSERT INTO "entry" VALUES(13,'dg93dkerbkrx','report','corallite_arrangement','{"states": ["plocoid", "cerioid"], "sure": true}',NULL);
INSERT INTO "entry" VALUES(14,'dg93dkerbkrx','report','calice_diameter_mm','{"method": "ruler", "n": 5, "sure": true, "value": 7.5}',NULL);
INSERT INTO "entry" VALUES(15,'dg93dkerbkrx','report','columella','{"states": ["spongy"], "sure": false}',NULL);
INSERT INTO "entry" VALUES(18,'dg93dkerbkrx','note','','"beside the buoy"',NULL);
INSERT INTO "entry" VALUES(21,'d1pgveb1emrv','region','','"red_sea"',NULL);
INSERT INTO "entry" VALUES(22,'d1pgveb1emrv','observer','','"8t8dmh20vrth"',NULL);
INSERT INTO "entry" VALUES(23,'d1pgveb1emrv','name','','"second"',NULL);
INSERT INTO "entry" VALUES(24,'d1pgveb1emrv','seen_on','','"2026-03-14"',NULL);
INSERT INTO "entry" VALUES(25,'d1pgveb1emrv','report','growth_form','{"states": ["branching"], "sure": true}',NULL);
INSERT INTO "entry" VALUES(28,'6js8btjgngzr','region','','"red_sea"',NULL);
INSERT INTO "entry" VALUES(29,'6js8btjgngzr','observer','','"8t8dmh20vrth"',NULL);
INSERT INTO "entry" VALUES(30,'6js8btjgngzr','name','','"third"',NULL);
INSERT INTO "entry" VALUES(31,'6js8btjgngzr','seen_on','','"2026-03-14"',NULL);
INSERT INTO "entry" VALUES(32,'6js8btjgngzr','report','growth_form','{"states": ["massive"], "sure": true}',NULL);
INSERT INTO "entry" VALUES(33,'6js8btjgngzr','report','corallite_arrangement','{"states": ["plocoid"], "sure": true}',NULL);
INSERT INTO "entry" VALUES(34,'6js8btjgngzr','report','calice_diameter_mm','{"method": "ruler", "n": 9, "sure": true, "value": 9.0}',NULL);
INSERT INTO "entry" VALUES(35,'6js8btjgngzr','report','corallite_relief','{"states": ["conical"], "sure": true}',NULL);
INSERT INTO "entry" VALUES(36,'6js8btjgngzr','report','columella','{"states": ["spongy"], "sure": true}',NULL);
INSERT INTO "entry" VALUES(37,'6js8btjgngzr','report','septal_teeth','{"states": ["spiny"], "sure": true}',NULL);
INSERT INTO "entry" VALUES(38,'6js8btjgngzr','report','budding','{"states": ["outside_calice"], "sure": true}',NULL);
INSERT INTO "entry" VALUES(39,'6js8btjgngzr','report','tissue','{"states": ["moderate"], "sure": true}',NULL);
INSERT INTO "entry" VALUES(40,'6js8btjgngzr','report','day_expansion','{"states": ["retracted"], "sure": true}',NULL);
CREATE TABLE event (
	id VARCHAR(16) NOT NULL, 
	kind VARCHAR(16) NOT NULL, 
	parent VARCHAR(16), 
	site VARCHAR(16), 
	name VARCHAR(120) NOT NULL, 
	date VARCHAR(10), 
	note TEXT NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(parent) REFERENCES event (id), 
	FOREIGN KEY(site) REFERENCES site (id)
);
CREATE TABLE history (
	id INTEGER NOT NULL, 
	at VARCHAR(32) NOT NULL, 
	person VARCHAR(16) NOT NULL, 
	verb VARCHAR(32) NOT NULL, 
	colony VARCHAR(16), 
	detail TEXT NOT NULL, 
	undoes INTEGER, 
	previous VARCHAR(64) NOT NULL, 
	hash VARCHAR(64) NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(person) REFERENCES person (id), 
	FOREIGN KEY(colony) REFERENCES colony (id), 
	FOREIGN KEY(undoes) REFERENCES history (id)
);
INSERT INTO "history" VALUES(1,'2026-03-14T09:30:01.000000Z','fgry14ty79vd','add person',NULL,'{"row": {"active": true, "added_at": "2026-03-14T09:30:01.000000Z", "errors": "trained", "id": "fgry14ty79vd", "name": "Lead", "role": "lead"}, "table": "person"}',NULL,'0000000000000000000000000000000000000000000000000000000000000000','ca013b6ab85039454b68a89ac16e92b3d729934a8c62b8647245f4991e0bf89c');
INSERT INTO "history" VALUES(2,'2026-03-14T09:30:02.000000Z','fgry14ty79vd','add person',NULL,'{"row": {"active": true, "added_at": "2026-03-14T09:30:02.000000Z", "errors": "unknown", "id": "8t8dmh20vrth", "name": "Observer 1", "role": "observer"}, "table": "person"}',NULL,'ca013b6ab85039454b68a89ac16e92b3d729934a8c62b8647245f4991e0bf89c','10a271f8bf6e4e9d4b2fe48ee9374b7ccaefdf43f7e39eafc04313c62a358366');
INSERT INTO "history" VALUES(3,'2026-03-14T09:30:03.000000Z','fgry14ty79vd','add person',NULL,'{"row": {"active": true, "added_at": "2026-03-14T09:30:03.000000Z", "errors": "unknown", "id": "taes393ez4cc", "name": "Observer 2", "role": "observer"}, "table": "person"}',NULL,'10a271f8bf6e4e9d4b2fe48ee9374b7ccaefdf43f7e39eafc04313c62a358366','72fc953d63c4210444ff4f722bb820b7bea8fa6eb8c3548355c0442a0ba36d35');
INSERT INTO "history" VALUES(4,'2026-03-14T09:30:04.000000Z','fgry14ty79vd','add person',NULL,'{"row": {"active": true, "added_at": "2026-03-14T09:30:04.000000Z", "errors": "unknown", "id": "w6g80r18ff3z", "name": "Reader", "role": "reader"}, "table": "person"}',NULL,'72fc953d63c4210444ff4f722bb820b7bea8fa6eb8c3548355c0442a0ba36d35','15e5a8e07515ec5faa9e593298ad3196ca8c898373641fd41dfdc4a3c1811433');
INSERT INTO "history" VALUES(5,'2026-03-14T09:30:05.000000Z','8t8dmh20vrth','add site',NULL,'{"row": {"id": "qy2q9hx8q5az", "latitude": 27.5, "longitude": 34.0, "name": "North wall", "note": "", "region": "red_sea"}, "table": "site"}',NULL,'15e5a8e07515ec5faa9e593298ad3196ca8c898373641fd41dfdc4a3c1811433','5b5a6159942581a895c77cbd978912393c7524fc64a1db14094ef5db6031d2d1');
INSERT INTO "history" VALUES(6,'2026-03-14T09:30:06.000000Z','8t8dmh20vrth','start','dg93dkerbkrx','{"row": {"id": "dg93dkerbkrx", "number": 1}, "table": "colony"}',NULL,'5b5a6159942581a895c77cbd978912393c7524fc64a1db14094ef5db6031d2d1','13b70bc5960bb32b944f5bc1ecab2fec2bc7a1945ae7c15293bed76dd064b404');
INSERT INTO "history" VALUES(7,'2026-03-14T09:30:06.000000Z','8t8dmh20vrth','start','dg93dkerbkrx','{"row": {"colony": "dg93dkerbkrx", "kind": "site", "measurement": null, "report": "\"qy2q9hx8q5az\"", "subject": ""}, "table": "entry"}',NULL,'13b70bc5960bb32b944f5bc1ecab2fec2bc7a1945ae7c15293bed76dd064b404','9e4dc5fd9d0d1680b8b83922cfdc856a8ca555a13bffed686df86b8e1b2df2b4');
INSERT INTO "history" VALUES(8,'2026-03-14T09:30:06.000000Z','8t8dmh20vrth','start','dg93dkerbkrx','{"row": {"colony": "dg93dkerbkrx", "kind": "region", "measurement": null, "report": "\"red_sea\"", "subject": ""}, "table": "entry"}',NULL,'9e4dc5fd9d0d1680b8b83922cfdc856a8ca555a13bffed686df86b8e1b2df2b4','0280cf85d8b5f087535124baf6475b0a06f2446d6c5e9ec49db17093855ab4ab');
INSERT INTO "history" VALUES(9,'2026-03-14T09:30:06.000000Z','8t8dmh20vrth','start','dg93dkerbkrx','{"row": {"colony": "dg93dkerbkrx", "kind": "observer", "measurement": null, "report": "\"8t8dmh20vrth\"", "subject": ""}, "table": "entry"}',NULL,'0280cf85d8b5f087535124baf6475b0a06f2446d6c5e9ec49db17093855ab4ab','6fd47ff4d89ab137e3ac4a6941d46846d592f7a56f47157791a668f73db62228');
INSERT INTO "history" VALUES(10,'2026-03-14T09:30:06.000000Z','8t8dmh20vrth','start','dg93dkerbkrx','{"row": {"colony": "dg93dkerbkrx", "kind": "name", "measurement": null, "report": "\"first\"", "subject": ""}, "table": "entry"}',NULL,'6fd47ff4d89ab137e3ac4a6941d46846d592f7a56f47157791a668f73db62228','510e74d3f8bca23183d42791206ddef25c540211a551dff6538e5fa66531c111');
INSERT INTO "history" VALUES(11,'2026-03-14T09:30:06.000000Z','8t8dmh20vrth','start','dg93dkerbkrx','{"row": {"colony": "dg93dkerbkrx", "kind": "seen_on", "measurement": null, "report": "\"2026-03-14\"", "subject": ""}, "table": "entry"}',NULL,'510e74d3f8bca23183d42791206ddef25c540211a551dff6538e5fa66531c111','1c7680f3ea7473258ea6c8c1df12475233bd154269ca518664898355e16a323a');
INSERT INTO "history" VALUES(12,'2026-03-14T09:30:07.000000Z','8t8dmh20vrth','report','dg93dkerbkrx','{"row": {"colony": "dg93dkerbkrx", "kind": "report", "measurement": null, "report": "{\"states\": [\"massive\"], \"sure\": true}", "subject": "growth_form"}, "table": "entry"}',NULL,'1c7680f3ea7473258ea6c8c1df12475233bd154269ca518664898355e16a323a','6f4ba99572d2b5ec226b4559bd505754c93a9e6ff844d026bd730982ed7de324');
INSERT INTO "history" VALUES(13,'2026-03-14T09:30:08.000000Z','8t8dmh20vrth','report','dg93dkerbkrx','{"row": {"colony": "dg93dkerbkrx", "kind": "report", "measurement": null, "report": "{\"states\": [\"plocoid\", \"cerioid\"], \"sure\": true}", "subject": "corallite_arrangement"}, "table": "entry"}',NULL,'6f4ba99572d2b5ec226b4559bd505754c93a9e6ff844d026bd730982ed7de324','a35b6a7068c3e361d034ec7aa5bf80dfcf120fcf4ed4036062c8f4af2b1c42c2');
INSERT INTO "history" VALUES(14,'2026-03-14T09:30:09.000000Z','8t8dmh20vrth','report','dg93dkerbkrx','{"row": {"colony": "dg93dkerbkrx", "kind": "report", "measurement": null, "report": "{\"method\": \"ruler\", \"n\": 5, \"sure\": true, \"value\": 7.5}", "subject": "calice_diameter_mm"}, "table": "entry"}',NULL,'a35b6a7068c3e361d034ec7aa5bf80dfcf120fcf4ed4036062c8f4af2b1c42c2','77682e13cfcb6ee29a74bc37e21af431f457465ba4bd2bdfd2ca5c9f464545f5');
INSERT INTO "history" VALUES(15,'2026-03-14T09:30:10.000000Z','8t8dmh20vrth','report','dg93dkerbkrx','{"row": {"colony": "dg93dkerbkrx", "kind": "report", "measurement": null, "report": "{\"states\": [\"spongy\"], \"sure\": false}", "subject": "columella"}, "table": "entry"}',NULL,'77682e13cfcb6ee29a74bc37e21af431f457465ba4bd2bdfd2ca5c9f464545f5','d7632ae99ac02d732deab50b8d6b80bccbc079fd97e2cf13c3520f88d817d515');
INSERT INTO "history" VALUES(16,'2026-03-14T09:30:11.000000Z','8t8dmh20vrth','determine','dg93dkerbkrx','{"row": {"colony": "dg93dkerbkrx", "evidence_upto": 15, "genera": "[\"Dipsastraea\", \"Favites\", \"Astrea\", \"Goniastrea\", \"Diploastrea\", \"Acanthastrea\", \"Micromussa\", \"Tubastraea\", \"Echinopora\", \"Goniopora\", \"Coelastrea\", \"Paragoniastrea\", \"Paramontastraea\"]", "kind": "model", "name": "Scleractinia indet.", "needs": "look", "observer_errors": "unknown", "probability": 0.9000480758589658, "program": "0.1.0", "rank": "order", "reason": "", "reference_hash": "b9395013314dc9bc8b3e9f9bc0d9ea7f10e525350ca85ff4d902ce1b880988ce", "reference_version": "0.1.0, 0 edits", "status": "open"}, "table": "determination"}',NULL,'d7632ae99ac02d732deab50b8d6b80bccbc079fd97e2cf13c3520f88d817d515','257ea245a8ea39acb1d1d70959a7a8ce82c609bab05f88e0a0eeb05d26217210');
INSERT INTO "history" VALUES(17,'2026-03-14T09:30:12.000000Z','8t8dmh20vrth','photo','dg93dkerbkrx','{"row": {"caption": "from above", "colony": "dg93dkerbkrx", "photo": "fcc837cf8a10515ee03402c01bd124679f0ad29e04aa85bd2c70795477361f6c"}, "table": "colony_photo"}',NULL,'257ea245a8ea39acb1d1d70959a7a8ce82c609bab05f88e0a0eeb05d26217210','d3acfefe6a69dc4f2f639e12a2435e2ded8ca81288b28a5e8096c8b477b1f251');
INSERT INTO "history" VALUES(18,'2026-03-14T09:30:13.000000Z','8t8dmh20vrth','note','dg93dkerbkrx','{"row": {"colony": "dg93dkerbkrx", "kind": "note", "measurement": null, "report": "\"beside the buoy\"", "subject": ""}, "table": "entry"}',NULL,'d3acfefe6a69dc4f2f639e12a2435e2ded8ca81288b28a5e8096c8b477b1f251','623ba19dac9a4a1f9f2194ab7774a0570dd5b6eb1a0e4160571f8ec15cd909c5');
INSERT INTO "history" VALUES(19,'2026-03-14T09:30:14.000000Z','fgry14ty79vd','override','dg93dkerbkrx','{"row": {"colony": "dg93dkerbkrx", "evidence_upto": 18, "genera": "[\"Favites\"]", "kind": "override", "name": "Favites sp.", "needs": "nothing", "observer_errors": "", "probability": null, "program": "0.1.0", "rank": "genus", "reason": "walls seen again", "reference_hash": "b9395013314dc9bc8b3e9f9bc0d9ea7f10e525350ca85ff4d902ce1b880988ce", "reference_version": "0.1.0, 0 edits", "status": "overridden"}, "table": "determination"}',NULL,'623ba19dac9a4a1f9f2194ab7774a0570dd5b6eb1a0e4160571f8ec15cd909c5','20e1bb9af3e2c26ca783b0f5bdb891b810dce4d423d4efd7b0918fc36e56d7a0');
INSERT INTO "history" VALUES(20,'2026-03-14T09:30:15.000000Z','8t8dmh20vrth','start','d1pgveb1emrv','{"row": {"id": "d1pgveb1emrv", "number": 2}, "table": "colony"}',NULL,'20e1bb9af3e2c26ca783b0f5bdb891b810dce4d423d4efd7b0918fc36e56d7a0','0ad153a74137378aa684492b4037d8ed0c88ee8ff6b6db060816c8e1d9ce4a9c');
INSERT INTO "history" VALUES(21,'2026-03-14T09:30:15.000000Z','8t8dmh20vrth','start','d1pgveb1emrv','{"row": {"colony": "d1pgveb1emrv", "kind": "region", "measurement": null, "report": "\"red_sea\"", "subject": ""}, "table": "entry"}',NULL,'0ad153a74137378aa684492b4037d8ed0c88ee8ff6b6db060816c8e1d9ce4a9c','b96164c4fb978d62e6e952d7a30710f05c37be8e18bcb764fedc69ad3764ad50');
INSERT INTO "history" VALUES(22,'2026-03-14T09:30:15.000000Z','8t8dmh20vrth','start','d1pgveb1emrv','{"row": {"colony": "d1pgveb1emrv", "kind": "observer", "measurement": null, "report": "\"8t8dmh20vrth\"", "subject": ""}, "table": "entry"}',NULL,'b96164c4fb978d62e6e952d7a30710f05c37be8e18bcb764fedc69ad3764ad50','d1fa0e9118ff57b076113c12f364c88a06456414dfc8a3ad5540fe1bbf528524');
INSERT INTO "history" VALUES(23,'2026-03-14T09:30:15.000000Z','8t8dmh20vrth','start','d1pgveb1emrv','{"row": {"colony": "d1pgveb1emrv", "kind": "name", "measurement": null, "report": "\"second\"", "subject": ""}, "table": "entry"}',NULL,'d1fa0e9118ff57b076113c12f364c88a06456414dfc8a3ad5540fe1bbf528524','2e136e66387a26adde587b69efde5db5ebb992fdef126d386b7cd1b01a7ed3fe');
INSERT INTO "history" VALUES(24,'2026-03-14T09:30:15.000000Z','8t8dmh20vrth','start','d1pgveb1emrv','{"row": {"colony": "d1pgveb1emrv", "kind": "seen_on", "measurement": null, "report": "\"2026-03-14\"", "subject": ""}, "table": "entry"}',NULL,'2e136e66387a26adde587b69efde5db5ebb992fdef126d386b7cd1b01a7ed3fe','b4ac8e1af7d0291cad46fed8e23db99b8afe9370cc5e0629b8410ee441dc38c3');
INSERT INTO "history" VALUES(25,'2026-03-14T09:30:16.000000Z','8t8dmh20vrth','report','d1pgveb1emrv','{"row": {"colony": "d1pgveb1emrv", "kind": "report", "measurement": null, "report": "{\"states\": [\"branching\"], \"sure\": true}", "subject": "growth_form"}, "table": "entry"}',NULL,'b4ac8e1af7d0291cad46fed8e23db99b8afe9370cc5e0629b8410ee441dc38c3','c03545f68d6330101bf4e2cfd77e7b1f51923fba49254a7930f7dcf0405218d5');
INSERT INTO "history" VALUES(26,'2026-03-14T09:30:17.000000Z','8t8dmh20vrth','undo','d1pgveb1emrv','{"undoes": "report"}',25,'c03545f68d6330101bf4e2cfd77e7b1f51923fba49254a7930f7dcf0405218d5','d180bf91e84085f76320b62f04cd8ad21a1d4ecdf71a16e79e9aa0d69e61ffed');
INSERT INTO "history" VALUES(27,'2026-03-14T09:30:18.000000Z','8t8dmh20vrth','start','6js8btjgngzr','{"row": {"id": "6js8btjgngzr", "number": 3}, "table": "colony"}',NULL,'d180bf91e84085f76320b62f04cd8ad21a1d4ecdf71a16e79e9aa0d69e61ffed','3659cccbf957981e67a95fda31910b82b4f6861b1b8442f3a78a1aaf0c393efb');
INSERT INTO "history" VALUES(28,'2026-03-14T09:30:18.000000Z','8t8dmh20vrth','start','6js8btjgngzr','{"row": {"colony": "6js8btjgngzr", "kind": "region", "measurement": null, "report": "\"red_sea\"", "subject": ""}, "table": "entry"}',NULL,'3659cccbf957981e67a95fda31910b82b4f6861b1b8442f3a78a1aaf0c393efb','d2cf2ff504a854522409bf7647302fab18053bcf88a72323598e577169048b2e');
INSERT INTO "history" VALUES(29,'2026-03-14T09:30:18.000000Z','8t8dmh20vrth','start','6js8btjgngzr','{"row": {"colony": "6js8btjgngzr", "kind": "observer", "measurement": null, "report": "\"8t8dmh20vrth\"", "subject": ""}, "table": "entry"}',NULL,'d2cf2ff504a854522409bf7647302fab18053bcf88a72323598e577169048b2e','9133c84d83825b35de5b291fe25371e4e12eb2e952090b1dd523132b15196ba0');
INSERT INTO "history" VALUES(30,'2026-03-14T09:30:18.000000Z','8t8dmh20vrth','start','6js8btjgngzr','{"row": {"colony": "6js8btjgngzr", "kind": "name", "measurement": null, "report": "\"third\"", "subject": ""}, "table": "entry"}',NULL,'9133c84d83825b35de5b291fe25371e4e12eb2e952090b1dd523132b15196ba0','712c38d7a4fd18fce5e879814f7c478d5d1f9208c647be4f17bfa01e1af1efb6');
INSERT INTO "history" VALUES(31,'2026-03-14T09:30:18.000000Z','8t8dmh20vrth','start','6js8btjgngzr','{"row": {"colony": "6js8btjgngzr", "kind": "seen_on", "measurement": null, "report": "\"2026-03-14\"", "subject": ""}, "table": "entry"}',NULL,'712c38d7a4fd18fce5e879814f7c478d5d1f9208c647be4f17bfa01e1af1efb6','74e89a1597cc1b45d8648853d8a2fdd1a4307a71eb53919ce1b198ec56c57e0d');
INSERT INTO "history" VALUES(32,'2026-03-14T09:30:19.000000Z','8t8dmh20vrth','report','6js8btjgngzr','{"row": {"colony": "6js8btjgngzr", "kind": "report", "measurement": null, "report": "{\"states\": [\"massive\"], \"sure\": true}", "subject": "growth_form"}, "table": "entry"}',NULL,'74e89a1597cc1b45d8648853d8a2fdd1a4307a71eb53919ce1b198ec56c57e0d','ff579ac9a2ca8813158c16ece0bfbde25c2a31c2eeecd690a3ec5a41d30c8e05');
INSERT INTO "history" VALUES(33,'2026-03-14T09:30:20.000000Z','8t8dmh20vrth','report','6js8btjgngzr','{"row": {"colony": "6js8btjgngzr", "kind": "report", "measurement": null, "report": "{\"states\": [\"plocoid\"], \"sure\": true}", "subject": "corallite_arrangement"}, "table": "entry"}',NULL,'ff579ac9a2ca8813158c16ece0bfbde25c2a31c2eeecd690a3ec5a41d30c8e05','13153b5179e5d8975f9f2c9bff3a43a349258b4e02ab45ebab33e762920a7c98');
INSERT INTO "history" VALUES(34,'2026-03-14T09:30:21.000000Z','8t8dmh20vrth','report','6js8btjgngzr','{"row": {"colony": "6js8btjgngzr", "kind": "report", "measurement": null, "report": "{\"method\": \"ruler\", \"n\": 9, \"sure\": true, \"value\": 9.0}", "subject": "calice_diameter_mm"}, "table": "entry"}',NULL,'13153b5179e5d8975f9f2c9bff3a43a349258b4e02ab45ebab33e762920a7c98','ec16f5a51618ac956eb43bac05278fa02cd6258afbe560588c2e651d87c145d2');
INSERT INTO "history" VALUES(35,'2026-03-14T09:30:22.000000Z','8t8dmh20vrth','report','6js8btjgngzr','{"row": {"colony": "6js8btjgngzr", "kind": "report", "measurement": null, "report": "{\"states\": [\"conical\"], \"sure\": true}", "subject": "corallite_relief"}, "table": "entry"}',NULL,'ec16f5a51618ac956eb43bac05278fa02cd6258afbe560588c2e651d87c145d2','b5326cbed81a37b4a1a0fd5d183304d7563986550b2fd54713cdc061ccbb59d0');
INSERT INTO "history" VALUES(36,'2026-03-14T09:30:23.000000Z','8t8dmh20vrth','report','6js8btjgngzr','{"row": {"colony": "6js8btjgngzr", "kind": "report", "measurement": null, "report": "{\"states\": [\"spongy\"], \"sure\": true}", "subject": "columella"}, "table": "entry"}',NULL,'b5326cbed81a37b4a1a0fd5d183304d7563986550b2fd54713cdc061ccbb59d0','2feb50a3c3bbe63dbf863e73613d7db7f9a9f95975f75d7b60712dcbe50d887b');
INSERT INTO "history" VALUES(37,'2026-03-14T09:30:24.000000Z','8t8dmh20vrth','report','6js8btjgngzr','{"row": {"colony": "6js8btjgngzr", "kind": "report", "measurement": null, "report": "{\"states\": [\"spiny\"], \"sure\": true}", "subject": "septal_teeth"}, "table": "entry"}',NULL,'2feb50a3c3bbe63dbf863e73613d7db7f9a9f95975f75d7b60712dcbe50d887b','5cd3a070b0eeabdf7b6a80abbf2797b7259bf82c09cfbf37422ee7d135bb6f73');
INSERT INTO "history" VALUES(38,'2026-03-14T09:30:25.000000Z','8t8dmh20vrth','report','6js8btjgngzr','{"row": {"colony": "6js8btjgngzr", "kind": "report", "measurement": null, "report": "{\"states\": [\"outside_calice\"], \"sure\": true}", "subject": "budding"}, "table": "entry"}',NULL,'5cd3a070b0eeabdf7b6a80abbf2797b7259bf82c09cfbf37422ee7d135bb6f73','2e1d11ac05f1a9d3815aaa15c7f6e90171ef1897bab172f3c87401729e6e3ce5');
INSERT INTO "history" VALUES(39,'2026-03-14T09:30:26.000000Z','8t8dmh20vrth','report','6js8btjgngzr','{"row": {"colony": "6js8btjgngzr", "kind": "report", "measurement": null, "report": "{\"states\": [\"moderate\"], \"sure\": true}", "subject": "tissue"}, "table": "entry"}',NULL,'2e1d11ac05f1a9d3815aaa15c7f6e90171ef1897bab172f3c87401729e6e3ce5','999101d63eca4869030daa5e1a89263c9abddfd1f93ef52444a8c58aae5dd988');
INSERT INTO "history" VALUES(40,'2026-03-14T09:30:27.000000Z','8t8dmh20vrth','report','6js8btjgngzr','{"row": {"colony": "6js8btjgngzr", "kind": "report", "measurement": null, "report": "{\"states\": [\"retracted\"], \"sure\": true}", "subject": "day_expansion"}, "table": "entry"}',NULL,'999101d63eca4869030daa5e1a89263c9abddfd1f93ef52444a8c58aae5dd988','e531d4ca31660acab0f855ca276ff703f091c469324069c266e1b5f5a59eb38a');
INSERT INTO "history" VALUES(41,'2026-03-14T09:30:28.000000Z','8t8dmh20vrth','determine','6js8btjgngzr','{"row": {"colony": "6js8btjgngzr", "evidence_upto": 40, "genera": "[\"Diploastrea\", \"Dipsastraea\", \"Astrea\", \"Favites\", \"Echinopora\"]", "kind": "model", "name": "Scleractinia indet.", "needs": "look", "observer_errors": "unknown", "probability": 0.9122317270096181, "program": "0.1.0", "rank": "order", "reason": "", "reference_hash": "b9395013314dc9bc8b3e9f9bc0d9ea7f10e525350ca85ff4d902ce1b880988ce", "reference_version": "0.1.0, 0 edits", "status": "open"}, "table": "determination"}',NULL,'e531d4ca31660acab0f855ca276ff703f091c469324069c266e1b5f5a59eb38a','bb4bb9cd405610eb6ea5381d3c97ff08478ad2a13a22dac14d6cc6af6ff9d8e1');
INSERT INTO "history" VALUES(42,'2026-03-14T09:30:00.000000Z','fgry14ty79vd','ask reading','6js8btjgngzr','{"row": {"asked_of": null, "colony": "6js8btjgngzr", "question": "What is the wall?"}, "table": "reading_request"}',NULL,'bb4bb9cd405610eb6ea5381d3c97ff08478ad2a13a22dac14d6cc6af6ff9d8e1','648192e1c34776104a1223c9e023caeab469aafc537ac0124d81df2cceb8a937');
INSERT INTO "history" VALUES(43,'2026-03-14T09:30:00.000000Z','fgry14ty79vd','voucher','d1pgveb1emrv','{"row": {"colony": "d1pgveb1emrv", "held_by": "Invented collection", "label": "LB-V1", "note": "Invented.", "permit": "INVENTED-PERMIT-0"}, "table": "voucher"}',NULL,'648192e1c34776104a1223c9e023caeab469aafc537ac0124d81df2cceb8a937','887b6354b9281ea51b035ba012418187eea88c29f4e099d3478dc08c3a60f4b6');
INSERT INTO "history" VALUES(44,'2026-03-14T09:30:00.000000Z','fgry14ty79vd','make practice set',NULL,'{"row": {"id": "hfy7v845c6wt", "items": "[{\"ask\": \"\", \"best\": {\"Montipora\": 0.99999725059182}, \"colony\": \"\", \"conditions\": [], \"form\": \"branching\", \"genus\": \"Montipora\", \"kind\": \"rendered\", \"note\": \"\", \"photo\": \"\", \"region\": \"red_sea\", \"ruler\": true, \"scene\": \"close_up\", \"seed\": 834608148, \"shown\": {\"attachment\": \"attached\", \"axial_corallite\": \"absent\", \"branch_habit\": \"arborescent\", \"calice_diameter_mm\": 1.1, \"coenosteum_texture\": \"papillate\", \"columella\": \"absent\", \"corallite_arrangement\": \"plocoid\", \"corallite_hood\": \"absent\", \"corallite_relief\": \"immersed\", \"corallite_rows\": \"absent\", \"depth_m\": 2.6, \"groove_between\": \"absent\", \"growth_form\": \"branching\", \"habitat\": \"lagoon\", \"living_colour\": \"pink_or_red\", \"monticules\": \"absent\", \"paliform_crown\": \"absent\", \"septa_order\": \"unequal\", \"septa_relief\": \"indistinct\", \"septal_teeth\": \"spiny\", \"septo_costae_confluent\": \"absent\", \"tissue\": \"thin\", \"verrucae\": \"absent\"}, \"told\": [\"growth_form\", \"attachment\", \"branch_habit\", \"axial_corallite\", \"habitat\", \"depth_m\"], \"why\": \"9% of colonies in the region.\"}, {\"ask\": \"\", \"best\": {\"Acropora\": 0.9998436828505798, \"Isopora\": 0.00015430783027434972}, \"colony\": \"\", \"conditions\": [], \"form\": \"table\", \"genus\": \"Acropora\", \"kind\": \"rendered\", \"note\": \"\", \"photo\": \"\", \"region\": \"red_sea\", \"ruler\": true, \"scene\": \"close_up\", \"seed\": 800472174, \"shown\": {\"attachment\": \"attached\", \"axial_corallite\": \"single\", \"branch_habit\": \"corymbose\", \"calice_diameter_mm\": 1.13, \"coenosteum_texture\": \"reticulate\", \"columella\": \"absent\", \"corallite_arrangement\": \"plocoid\", \"corallite_hood\": \"absent\", \"corallite_relief\": \"tubular\", \"depth_m\": 11.3, \"groove_between\": \"absent\", \"growth_form\": \"branching\", \"habitat\": \"slope\", \"living_colour\": \"brown_or_green\", \"monticules\": \"absent\", \"paliform_crown\": \"absent\", \"septa_order\": \"alternating\", \"septa_relief\": \"indistinct\", \"septal_teeth\": \"fine\", \"septo_costae_confluent\": \"absent\", \"tissue\": \"thin\"}, \"told\": [\"growth_form\", \"attachment\", \"branch_habit\", \"axial_corallite\", \"habitat\", \"depth_m\"], \"why\": \"14% of colonies in the region.\"}, {\"ask\": \"\", \"best\": {\"Porites\": 0.999999939233529}, \"colony\": \"\", \"conditions\": [], \"form\": \"branching\", \"genus\": \"Porites\", \"kind\": \"rendered\", \"note\": \"\", \"photo\": \"\", \"region\": \"red_sea\", \"ruler\": true, \"scene\": \"close_up\", \"seed\": 229681099, \"shown\": {\"attachment\": \"attached\", \"axial_corallite\": \"absent\", \"branch_habit\": \"corymbose\", \"calice_diameter_mm\": 1.25, \"columella\": \"styliform\", \"corallite_arrangement\": \"cerioid\", \"corallite_relief\": \"flush\", \"corallite_rows\": \"absent\", \"depth_m\": 3.53, \"groove_between\": \"absent\", \"growth_form\": \"branching\", \"habitat\": \"lagoon\", \"living_colour\": \"brown_or_green\", \"monticules\": \"absent\", \"paliform_crown\": \"present\", \"septa_order\": \"equal\", \"septa_relief\": \"indistinct\", \"septal_teeth\": \"fine\", \"septo_costae_confluent\": \"absent\", \"tissue\": \"moderate\", \"verrucae\": \"absent\", \"wall_crest\": \"rounded\"}, \"told\": [\"growth_form\", \"attachment\", \"branch_habit\", \"axial_corallite\", \"habitat\", \"depth_m\"], \"why\": \"5% of colonies in the region.\"}]", "made_at": "2026-03-14T09:30:00.000000Z", "made_for": null, "open": true, "purpose": "common", "reference_hash": "b9395013314dc9bc8b3e9f9bc0d9ea7f10e525350ca85ff4d902ce1b880988ce", "region": "red_sea", "title": "First"}, "table": "practice_set"}',NULL,'887b6354b9281ea51b035ba012418187eea88c29f4e099d3478dc08c3a60f4b6','1f90ed217f1f77c4cb36d7a5274939c764cee4e47cdbb3d62c853ba4b4656ee6');
INSERT INTO "history" VALUES(45,'2026-03-14T09:30:09.000000Z','fgry14ty79vd','practice answer',NULL,'{"row": {"answer": "{\"confidence\": 0.8, \"genera\": [\"Montipora\"], \"reports\": {}, \"seconds\": null}", "at": "2026-03-14T09:30:09.000000Z", "item": 0, "person": "fgry14ty79vd", "practice_set": "hfy7v845c6wt", "qualification": null, "right": true, "score": 0.97918663681079}, "table": "practice_answer"}',NULL,'1f90ed217f1f77c4cb36d7a5274939c764cee4e47cdbb3d62c853ba4b4656ee6','edd17c408ff442b70e79137eb03d1ab6c4dd645fa269aff5a0b5c8b6448ce6e5');
CREATE TABLE measurement (
	history INTEGER NOT NULL, 
	colony VARCHAR(16) NOT NULL, 
	photo VARCHAR(64) NOT NULL, 
	character VARCHAR(64) NOT NULL, 
	value FLOAT NOT NULL, 
	low FLOAT, 
	high FLOAT, 
	n INTEGER NOT NULL, 
	"by" VARCHAR(16) NOT NULL, 
	mm_per_pixel FLOAT NOT NULL, 
	relative FLOAT NOT NULL, 
	marks TEXT NOT NULL, 
	PRIMARY KEY (history), 
	FOREIGN KEY(history) REFERENCES history (id), 
	FOREIGN KEY(colony) REFERENCES colony (id), 
	FOREIGN KEY(photo) REFERENCES photo (sha256)
);
CREATE TABLE observer_errors (
	hash VARCHAR(64) NOT NULL, 
	person VARCHAR(16) NOT NULL, 
	first_at VARCHAR(32) NOT NULL, 
	answers INTEGER NOT NULL, 
	errors TEXT NOT NULL, 
	PRIMARY KEY (hash), 
	FOREIGN KEY(person) REFERENCES person (id)
);
CREATE TABLE person (
	id VARCHAR(16) NOT NULL, 
	name VARCHAR(120) NOT NULL, 
	role VARCHAR(16) NOT NULL, 
	errors VARCHAR(16) NOT NULL, 
	active BOOLEAN NOT NULL, 
	added_at VARCHAR(32) NOT NULL, 
	PRIMARY KEY (id)
);
INSERT INTO "person" VALUES('fgry14ty79vd','Lead','lead','trained',1,'2026-03-14T09:30:01.000000Z');
INSERT INTO "person" VALUES('8t8dmh20vrth','Observer 1','observer','unknown',1,'2026-03-14T09:30:02.000000Z');
INSERT INTO "person" VALUES('taes393ez4cc','Observer 2','observer','unknown',1,'2026-03-14T09:30:03.000000Z');
INSERT INTO "person" VALUES('w6g80r18ff3z','Reader','reader','unknown',1,'2026-03-14T09:30:04.000000Z');
CREATE TABLE photo (
	sha256 VARCHAR(64) NOT NULL, 
	media_type VARCHAR(32) NOT NULL, 
	width INTEGER NOT NULL, 
	height INTEGER NOT NULL, 
	bytes INTEGER NOT NULL, 
	added_at VARCHAR(32) NOT NULL, 
	PRIMARY KEY (sha256)
);
INSERT INTO "photo" VALUES('fcc837cf8a10515ee03402c01bd124679f0ad29e04aa85bd2c70795477361f6c','image/jpeg',64,48,2475,'2026-03-14T09:30:12.000000Z');
CREATE TABLE practice_answer (
	history INTEGER NOT NULL, 
	practice_set VARCHAR(16) NOT NULL, 
	item INTEGER NOT NULL, 
	person VARCHAR(16) NOT NULL, 
	at VARCHAR(32) NOT NULL, 
	answer TEXT NOT NULL, 
	score FLOAT NOT NULL, 
	"right" BOOLEAN NOT NULL, 
	qualification VARCHAR(16), 
	PRIMARY KEY (history), 
	FOREIGN KEY(history) REFERENCES history (id), 
	FOREIGN KEY(practice_set) REFERENCES practice_set (id), 
	FOREIGN KEY(person) REFERENCES person (id), 
	FOREIGN KEY(qualification) REFERENCES qualification (id)
);
INSERT INTO "practice_answer" VALUES(45,'hfy7v845c6wt',0,'fgry14ty79vd','2026-03-14T09:30:09.000000Z','{"confidence": 0.8, "genera": ["Montipora"], "reports": {}, "seconds": null}',0.97918663681079,1,NULL);
CREATE TABLE practice_set (
	id VARCHAR(16) NOT NULL, 
	title VARCHAR(120) NOT NULL, 
	purpose VARCHAR(16) NOT NULL, 
	region VARCHAR(32) NOT NULL, 
	made_for VARCHAR(16), 
	items TEXT NOT NULL, 
	reference_hash VARCHAR(64) NOT NULL, 
	made_at VARCHAR(32) NOT NULL, 
	open BOOLEAN NOT NULL, 
	PRIMARY KEY (id), 
	FOREIGN KEY(made_for) REFERENCES person (id)
);
INSERT INTO "practice_set" VALUES('hfy7v845c6wt','First','common','red_sea',NULL,'[{"ask": "", "best": {"Montipora": 0.99999725059182}, "colony": "", "conditions": [], "form": "branching", "genus": "Montipora", "kind": "rendered", "note": "", "photo": "", "region": "red_sea", "ruler": true, "scene": "close_up", "seed": 834608148, "shown": {"attachment": "attached", "axial_corallite": "absent", "branch_habit": "arborescent", "calice_diameter_mm": 1.1, "coenosteum_texture": "papillate", "columella": "absent", "corallite_arrangement": "plocoid", "corallite_hood": "absent", "corallite_relief": "immersed", "corallite_rows": "absent", "depth_m": 2.6, "groove_between": "absent", "growth_form": "branching", "habitat": "lagoon", "living_colour": "pink_or_red", "monticules": "absent", "paliform_crown": "absent", "septa_order": "unequal", "septa_relief": "indistinct", "septal_teeth": "spiny", "septo_costae_confluent": "absent", "tissue": "thin", "verrucae": "absent"}, "told": ["growth_form", "attachment", "branch_habit", "axial_corallite", "habitat", "depth_m"], "why": "9% of colonies in the region."}, {"ask": "", "best": {"Acropora": 0.9998436828505798, "Isopora": 0.00015430783027434972}, "colony": "", "conditions": [], "form": "table", "genus": "Acropora", "kind": "rendered", "note": "", "photo": "", "region": "red_sea", "ruler": true, "scene": "close_up", "seed": 800472174, "shown": {"attachment": "attached", "axial_corallite": "single", "branch_habit": "corymbose", "calice_diameter_mm": 1.13, "coenosteum_texture": "reticulate", "columella": "absent", "corallite_arrangement": "plocoid", "corallite_hood": "absent", "corallite_relief": "tubular", "depth_m": 11.3, "groove_between": "absent", "growth_form": "branching", "habitat": "slope", "living_colour": "brown_or_green", "monticules": "absent", "paliform_crown": "absent", "septa_order": "alternating", "septa_relief": "indistinct", "septal_teeth": "fine", "septo_costae_confluent": "absent", "tissue": "thin"}, "told": ["growth_form", "attachment", "branch_habit", "axial_corallite", "habitat", "depth_m"], "why": "14% of colonies in the region."}, {"ask": "", "best": {"Porites": 0.999999939233529}, "colony": "", "conditions": [], "form": "branching", "genus": "Porites", "kind": "rendered", "note": "", "photo": "", "region": "red_sea", "ruler": true, "scene": "close_up", "seed": 229681099, "shown": {"attachment": "attached", "axial_corallite": "absent", "branch_habit": "corymbose", "calice_diameter_mm": 1.25, "columella": "styliform", "corallite_arrangement": "cerioid", "corallite_relief": "flush", "corallite_rows": "absent", "depth_m": 3.53, "groove_between": "absent", "growth_form": "branching", "habitat": "lagoon", "living_colour": "brown_or_green", "monticules": "absent", "paliform_crown": "present", "septa_order": "equal", "septa_relief": "indistinct", "septal_teeth": "fine", "septo_costae_confluent": "absent", "tissue": "moderate", "verrucae": "absent", "wall_crest": "rounded"}, "told": ["growth_form", "attachment", "branch_habit", "axial_corallite", "habitat", "depth_m"], "why": "5% of colonies in the region."}]','b9395013314dc9bc8b3e9f9bc0d9ea7f10e525350ca85ff4d902ce1b880988ce','2026-03-14T09:30:00.000000Z',1);
CREATE TABLE qualification (
	id VARCHAR(16) NOT NULL, 
	person VARCHAR(16) NOT NULL, 
	practice_set VARCHAR(16) NOT NULL, 
	genera TEXT NOT NULL, 
	"plan" TEXT NOT NULL, 
	outcome VARCHAR(16) NOT NULL, 
	started_at VARCHAR(32) NOT NULL, 
	ended_at VARCHAR(32), 
	expires_on VARCHAR(10), 
	PRIMARY KEY (id), 
	FOREIGN KEY(person) REFERENCES person (id), 
	FOREIGN KEY(practice_set) REFERENCES practice_set (id)
);
CREATE TABLE reading_answer (
	history INTEGER NOT NULL, 
	colony VARCHAR(16) NOT NULL, 
	request INTEGER NOT NULL, 
	genera TEXT NOT NULL, 
	confidence FLOAT, 
	note TEXT NOT NULL, 
	PRIMARY KEY (history), 
	FOREIGN KEY(history) REFERENCES history (id), 
	FOREIGN KEY(colony) REFERENCES colony (id), 
	FOREIGN KEY(request) REFERENCES reading_request (history)
);
CREATE TABLE reading_request (
	history INTEGER NOT NULL, 
	colony VARCHAR(16) NOT NULL, 
	asked_of VARCHAR(16), 
	question TEXT NOT NULL, 
	PRIMARY KEY (history), 
	FOREIGN KEY(history) REFERENCES history (id), 
	FOREIGN KEY(colony) REFERENCES colony (id), 
	FOREIGN KEY(asked_of) REFERENCES person (id)
);
INSERT INTO "reading_request" VALUES(42,'6js8btjgngzr',NULL,'What is the wall?');
CREATE TABLE reference_version (
	hash VARCHAR(64) NOT NULL, 
	version VARCHAR(80) NOT NULL, 
	first_at VARCHAR(32) NOT NULL, 
	tables BLOB NOT NULL, 
	PRIMARY KEY (hash)
);
INSERT INTO "reference_version" VALUES('b9395013314dc9bc8b3e9f9bc0d9ea7f10e525350ca85ff4d902ce1b880988ce','0.1.0, 0 edits','2026-03-14T09:30:11.000000Z',X'00');
CREATE TABLE site (
	id VARCHAR(16) NOT NULL, 
	name VARCHAR(120) NOT NULL, 
	region VARCHAR(32) NOT NULL, 
	latitude FLOAT, 
	longitude FLOAT, 
	note TEXT NOT NULL, 
	PRIMARY KEY (id)
);
INSERT INTO "site" VALUES('qy2q9hx8q5az','North wall','red_sea',27.5,34.0,'');
CREATE TABLE voucher (
	history INTEGER NOT NULL, 
	colony VARCHAR(16) NOT NULL, 
	permit VARCHAR(120) NOT NULL, 
	label VARCHAR(120) NOT NULL, 
	held_by VARCHAR(120) NOT NULL, 
	note TEXT NOT NULL, 
	PRIMARY KEY (history), 
	FOREIGN KEY(history) REFERENCES history (id), 
	FOREIGN KEY(colony) REFERENCES colony (id)
);
INSERT INTO "voucher" VALUES(43,'d1pgveb1emrv','INVENTED-PERMIT-0','LB-V1','Invented collection','Invented.');
CREATE INDEX ix_event_parent ON event (parent);
CREATE INDEX colony_by_words ON colony (withdrawn, seen_on, number, words, id);
CREATE INDEX ix_colony_event ON colony (event);
CREATE INDEX colony_by_status ON colony (withdrawn, status, seen_on, number);
CREATE INDEX colony_by_name ON colony (withdrawn, shown_name, status);
CREATE INDEX colony_by_site ON colony (withdrawn, site, seen_on, number);
CREATE INDEX colony_by_genus ON colony (withdrawn, genus, seen_on, number);
CREATE INDEX colony_by_day ON colony (withdrawn, seen_on, number);
CREATE INDEX history_by_verb ON history (verb);
CREATE INDEX ix_history_colony ON history (colony);
CREATE INDEX ix_measurement_colony ON measurement (colony);
CREATE INDEX ix_entry_colony ON entry (colony);
CREATE INDEX entry_by_subject ON entry (kind, subject);
CREATE INDEX ix_colony_photo_colony ON colony_photo (colony);
CREATE INDEX ix_colony_photo_photo ON colony_photo (photo);
CREATE INDEX ix_determination_colony ON determination (colony);
CREATE INDEX ix_reading_request_colony ON reading_request (colony);
CREATE INDEX ix_reading_answer_colony ON reading_answer (colony);
CREATE INDEX ix_voucher_colony ON voucher (colony);
CREATE INDEX colony_waiting ON colony (waits_reading, waits_voucher);
CREATE INDEX ix_qualification_person ON qualification (person);
CREATE INDEX ix_practice_answer_practice_set ON practice_answer (practice_set);
CREATE INDEX ix_practice_answer_person ON practice_answer (person);
COMMIT;
