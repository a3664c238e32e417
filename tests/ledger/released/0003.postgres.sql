CREATE SCHEMA public;
SET statement_timeout = 0;
SET lock_timeout = 0;
SET idle_in_transaction_session_timeout = 0;
SET client_encoding = 'UTF8';
SET standard_conforming_strings = on;
SELECT pg_catalog.set_config('search_path', '', false);
SET check_function_bodies = false;
SET xmloption = content;
SET client_min_messages = warning;
SET row_security = off;
CREATE FUNCTION public.ledger_append_only() RETURNS trigger
    LANGUAGE plpgsql
    AS $$ BEGIN RAISE EXCEPTION 'the ledger is append-only'; END $$;
CREATE FUNCTION public.ledger_next() RETURNS trigger
    LANGUAGE plpgsql
    AS $$ DECLARE last bigint; BEGIN IF TG_TABLE_NAME = 'runs' THEN SELECT COALESCE(MAX(id), 0) INTO last FROM runs; ELSE SELECT COALESCE(MAX(id), 0) INTO last FROM entries; END IF; IF NEW.id <> last + 1 THEN RAISE EXCEPTION 'the ledger has no gaps'; END IF; RETURN NEW; END $$;
CREATE FUNCTION public.ledger_run_once() RETURNS trigger
    LANGUAGE plpgsql
    AS $$ BEGIN IF EXISTS (SELECT 1 FROM runs x JOIN entries e ON e.run = x.id WHERE x.load_name = NEW.load_name AND x.run_no = NEW.run_no AND x.id <> NEW.id AND (x.machine = NEW.machine OR x.machine IS NULL OR NEW.machine IS NULL) AND NOT EXISTS (SELECT 1 FROM entries y WHERE y.reverses = e.id)) THEN RAISE EXCEPTION 'a run is posted once'; END IF; RETURN NEW; END $$;
SET default_tablespace = '';
SET default_table_access_method = heap;
CREATE TABLE public.alembic_version (
    version_num character varying(32) NOT NULL
);
CREATE TABLE public.entries (
    id bigint NOT NULL,
    at text NOT NULL,
    kind text NOT NULL,
    piece bigint NOT NULL,
    serial text,
    tool text,
    profile text,
    run bigint,
    reverses bigint,
    pocket bigint,
    stone text,
    thickness_nm bigint,
    diameter_nm bigint,
    restored_e12 bigint,
    reason text,
    governing text,
    contact_nm bigint,
    path_nm bigint,
    volume_pl bigint,
    wheel_pl bigint,
    cut_us bigint,
    holes bigint,
    area_um2 bigint,
    share_length_e12 bigint,
    share_volume_e12 bigint,
    share_g_ratio_e12 bigint,
    share_time_e12 bigint,
    share_holes_e12 bigint,
    share_area_e12 bigint,
    share_any_e12 bigint,
    cost_e6 bigint,
    price_e6 bigint,
    currency text,
    who text NOT NULL,
    note text NOT NULL,
    life bigint,
    machine text,
    supplier text,
    batch text,
    mark text,
    hash text,
    order_no text,
    of_order bigint,
    pieces bigint,
    expected text,
    CONSTRAINT entries_at_check CHECK ((at ~~ '____-__-__T__:__:__.______Z'::text)),
    CONSTRAINT entries_batch_check CHECK ((batch <> ''::text)),
    CONSTRAINT entries_check11 CHECK ((((cost_e6 IS NOT NULL) OR (price_e6 IS NOT NULL)) = (currency IS NOT NULL))),
    CONSTRAINT entries_check6 CHECK ((reverses < id)),
    CONSTRAINT entries_currency_check CHECK ((currency <> ''::text)),
    CONSTRAINT entries_diameter_nm_check CHECK ((diameter_nm > 0)),
    CONSTRAINT entries_expected_check CHECK ((expected ~~ '____-__-__'::text)),
    CONSTRAINT entries_governing_check CHECK ((governing = ANY (ARRAY['length'::text, 'volume'::text, 'g-ratio'::text, 'time'::text, 'holes'::text, 'area'::text]))),
    CONSTRAINT entries_hash_check CHECK ((hash <> ''::text)),
    CONSTRAINT entries_id_check CHECK ((id >= 1)),
    CONSTRAINT entries_machine_check CHECK ((machine <> ''::text)),
    CONSTRAINT entries_mark_check CHECK ((mark <> ''::text)),
    CONSTRAINT entries_order_no_check CHECK ((order_no <> ''::text)),
    CONSTRAINT entries_pieces_check CHECK ((pieces >= 0)),
    CONSTRAINT entries_pocket_check CHECK ((pocket >= 1)),
    CONSTRAINT entries_price_e6_check CHECK ((price_e6 >= 0)),
    CONSTRAINT entries_profile_check CHECK ((profile <> ''::text)),
    CONSTRAINT entries_reason_check CHECK ((reason = ANY (ARRAY['worn'::text, 'broken'::text, 'lost'::text, 'early'::text]))),
    CONSTRAINT entries_restored_e12_check CHECK ((restored_e12 > 0)),
    CONSTRAINT entries_rule_1 CHECK ((kind = ANY (ARRAY['received'::text, 'mounted'::text, 'used'::text, 'dressed'::text, 'reprofiled'::text, 'measured'::text, 'retired'::text, 'adjusted'::text, 'reversed'::text, 'ordered'::text, 'rescheduled'::text, 'cancelled'::text, 'closed'::text]))),
    CONSTRAINT entries_rule_10 CHECK (((kind = ANY (ARRAY['reprofiled'::text, 'retired'::text])) = (reason IS NOT NULL))),
    CONSTRAINT entries_rule_11 CHECK (((diameter_nm IS NOT NULL) OR (kind <> 'measured'::text))),
    CONSTRAINT entries_rule_12 CHECK (((kind = 'ordered'::text) = (order_no IS NOT NULL))),
    CONSTRAINT entries_rule_13 CHECK (((kind = ANY (ARRAY['ordered'::text, 'rescheduled'::text])) = (expected IS NOT NULL))),
    CONSTRAINT entries_rule_14 CHECK (((kind = ANY (ARRAY['ordered'::text, 'cancelled'::text, 'closed'::text])) = (pieces IS NOT NULL))),
    CONSTRAINT entries_rule_15 CHECK (((of_order IS NULL) OR (kind = 'received'::text))),
    CONSTRAINT entries_rule_2 CHECK (((kind = 'received'::text) = (serial IS NOT NULL))),
    CONSTRAINT entries_rule_3 CHECK (((kind = ANY (ARRAY['received'::text, 'ordered'::text])) = (tool IS NOT NULL))),
    CONSTRAINT entries_rule_4 CHECK (((kind = ANY (ARRAY['received'::text, 'ordered'::text])) = (piece = id))),
    CONSTRAINT entries_rule_5 CHECK (((kind = ANY (ARRAY['received'::text, 'ordered'::text])) OR (profile IS NULL))),
    CONSTRAINT entries_rule_6 CHECK (((kind = 'used'::text) = (run IS NOT NULL))),
    CONSTRAINT entries_rule_7 CHECK (((kind = 'reversed'::text) = (reverses IS NOT NULL))),
    CONSTRAINT entries_rule_8 CHECK (((pocket IS NULL) OR (kind = 'mounted'::text))),
    CONSTRAINT entries_rule_9 CHECK (((kind = ANY (ARRAY['received'::text, 'reprofiled'::text])) = (restored_e12 IS NOT NULL))),
    CONSTRAINT entries_serial_check CHECK ((serial <> ''::text)),
    CONSTRAINT entries_stone_check CHECK ((stone <> ''::text)),
    CONSTRAINT entries_supplier_check CHECK ((supplier <> ''::text)),
    CONSTRAINT entries_thickness_nm_check CHECK ((thickness_nm > 0)),
    CONSTRAINT entries_tool_check CHECK ((tool <> ''::text)),
    CONSTRAINT entries_who_check CHECK ((who <> ''::text))
);
CREATE VIEW public.mounts AS
 SELECT m.piece,
    m.pocket,
    m.machine
   FROM public.entries m
  WHERE ((m.kind = 'mounted'::text) AND (m.pocket IS NOT NULL) AND (NOT (EXISTS ( SELECT 1
           FROM public.entries x
          WHERE (x.reverses = m.id)))) AND (NOT (EXISTS ( SELECT 1
           FROM public.entries n
          WHERE ((n.kind = 'mounted'::text) AND (n.piece = m.piece) AND (n.id > m.id) AND (NOT (EXISTS ( SELECT 1
                   FROM public.entries x
                  WHERE (x.reverses = n.id)))))))) AND (NOT (EXISTS ( SELECT 1
           FROM public.entries o
          WHERE ((o.kind = 'mounted'::text) AND (o.pocket = m.pocket) AND (o.id > m.id) AND ((o.machine = m.machine) OR (o.machine IS NULL) OR (m.machine IS NULL)) AND (NOT (EXISTS ( SELECT 1
                   FROM public.entries x
                  WHERE (x.reverses = o.id)))))))) AND (NOT (EXISTS ( SELECT 1
           FROM public.entries r
          WHERE ((r.kind = 'retired'::text) AND (r.piece = m.piece) AND (NOT (EXISTS ( SELECT 1
                   FROM public.entries x
                  WHERE (x.reverses = r.id)))))))));
CREATE VIEW public.restores AS
 SELECT e.piece,
    max(e.id) AS entry
   FROM public.entries e
  WHERE ((e.restored_e12 IS NOT NULL) AND (NOT (EXISTS ( SELECT 1
           FROM public.entries x
          WHERE (x.reverses = e.id)))))
  GROUP BY e.piece;
CREATE VIEW public.balances AS
 SELECT p.id AS piece,
    p.serial,
    p.tool,
    p.profile,
    p.at AS received_at,
    p.price_e6,
    p.currency AS price_currency,
    p.supplier,
    p.batch,
    s.id AS restored_entry,
    s.at AS restored_at,
    s.restored_e12,
    ( SELECT d.diameter_nm
           FROM public.entries d
          WHERE ((d.piece = p.id) AND (d.diameter_nm IS NOT NULL) AND (NOT (EXISTS ( SELECT 1
                   FROM public.entries x
                  WHERE (x.reverses = d.id)))))
          ORDER BY d.at DESC, d.id DESC
         LIMIT 1) AS diameter_nm,
    ( SELECT t.reason
           FROM public.entries t
          WHERE ((t.piece = p.id) AND (t.kind = 'retired'::text) AND (NOT (EXISTS ( SELECT 1
                   FROM public.entries x
                  WHERE (x.reverses = t.id)))))) AS reason,
    ( SELECT m.pocket
           FROM public.mounts m
          WHERE (m.piece = p.id)) AS pocket,
    ( SELECT m.machine
           FROM public.mounts m
          WHERE (m.piece = p.id)) AS machine,
    (EXISTS ( SELECT 1
           FROM public.entries m
          WHERE ((m.piece = p.id) AND (m.kind = 'mounted'::text) AND (NOT (EXISTS ( SELECT 1
                   FROM public.entries x
                  WHERE (x.reverses = m.id))))))) AS was_mounted,
    COALESCE(sum(
        CASE
            WHEN (e.kind = 'used'::text) THEN 1
            WHEN ((e.kind = 'reversed'::text) AND (u.kind = 'used'::text)) THEN '-1'::integer
            ELSE 0
        END), (0)::bigint) AS runs,
    COALESCE(sum(
        CASE
            WHEN (e.kind = 'dressed'::text) THEN 1
            WHEN ((e.kind = 'reversed'::text) AND (u.kind = 'dressed'::text)) THEN '-1'::integer
            ELSE 0
        END), (0)::bigint) AS dressings,
    min(
        CASE
            WHEN (e.cost_e6 IS NOT NULL) THEN e.currency
            ELSE NULL::text
        END) AS currency_first,
    max(
        CASE
            WHEN (e.cost_e6 IS NOT NULL) THEN e.currency
            ELSE NULL::text
        END) AS currency_last,
    sum(e.contact_nm) AS contact_nm,
    sum(e.path_nm) AS path_nm,
    sum(e.volume_pl) AS volume_pl,
    sum(e.wheel_pl) AS wheel_pl,
    sum(e.cut_us) AS cut_us,
    sum(e.holes) AS holes,
    sum(e.area_um2) AS area_um2,
    sum(e.share_length_e12) AS share_length_e12,
    sum(e.share_volume_e12) AS share_volume_e12,
    sum(e.share_g_ratio_e12) AS share_g_ratio_e12,
    sum(e.share_time_e12) AS share_time_e12,
    sum(e.share_holes_e12) AS share_holes_e12,
    sum(e.share_area_e12) AS share_area_e12,
    sum(e.share_any_e12) AS share_any_e12,
    sum(e.cost_e6) AS cost_e6
   FROM ((((public.entries p
     JOIN public.restores r ON ((r.piece = p.id)))
     JOIN public.entries s ON ((s.id = r.entry)))
     LEFT JOIN public.entries e ON (((e.piece = p.id) AND (e.life >= r.entry))))
     LEFT JOIN public.entries u ON ((u.id = e.reverses)))
  WHERE (p.kind = 'received'::text)
  GROUP BY p.id, p.serial, p.tool, p.profile, p.at, p.price_e6, p.currency, p.supplier, p.batch, s.id, s.at, s.restored_e12;
CREATE TABLE public.runs (
    id bigint NOT NULL,
    load_name text NOT NULL,
    run_no bigint NOT NULL,
    digest text NOT NULL,
    actual bigint NOT NULL,
    water_l_e6 bigint,
    electricity_kwh_e6 bigint,
    machine text,
    work_digest text,
    CONSTRAINT runs_actual_check CHECK ((actual = ANY (ARRAY[(0)::bigint, (1)::bigint]))),
    CONSTRAINT runs_digest_check CHECK ((digest <> ''::text)),
    CONSTRAINT runs_electricity_kwh_e6_check CHECK ((electricity_kwh_e6 >= 0)),
    CONSTRAINT runs_load_name_check CHECK ((load_name <> ''::text)),
    CONSTRAINT runs_machine_check CHECK ((machine <> ''::text)),
    CONSTRAINT runs_run_no_check CHECK ((run_no >= 1)),
    CONSTRAINT runs_water_l_e6_check CHECK ((water_l_e6 >= 0)),
    CONSTRAINT runs_work_digest_check CHECK ((work_digest <> ''::text))
);
INSERT INTO public.alembic_version VALUES ('0003');
INSERT INTO public.entries VALUES (1, '2026-03-02T06:00:00.000000Z', 'received', 1, 'polish-1-001', 'polish-1', NULL, NULL, NULL, NULL, NULL, NULL, 80000000, 1000000000000, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 60000000, 'EUR', 'Ada', 'box "A", 3 pads', 1, NULL, NULL, NULL, NULL, 'e89ed4ce39a81b09ff249c75447133a6a5cc546621a5e504f9dfa38ed19ee239', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (2, '2026-03-02T06:00:00.000000Z', 'received', 2, 'polish-1-002', 'polish-1', NULL, NULL, NULL, NULL, NULL, NULL, 80000000, 1000000000000, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 60000000, 'EUR', 'Ada', 'box "A", 3 pads', 2, NULL, NULL, NULL, NULL, 'cce59b2783b9c20156d4a2ac36155b7c549c958a91e0e13508cc18034bed32c4', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (3, '2026-03-02T06:00:00.000000Z', 'received', 3, 'polish-1-003', 'polish-1', NULL, NULL, NULL, NULL, NULL, NULL, 80000000, 1000000000000, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 60000000, 'EUR', 'Ada', 'box "A", 3 pads', 3, NULL, NULL, NULL, NULL, 'b198d822a82afc7253794a67f81487c99f6ea08823d04414542dc58171f51d7e', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (4, '2026-03-02T07:00:00.000000Z', 'received', 4, 'A7', 'metal-1', 'ogee', NULL, NULL, NULL, NULL, NULL, NULL, 1000000000000, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 260000000, 'EUR', 'Ada', '', 4, NULL, NULL, NULL, NULL, '299708877b08ad37bd7d862e9f7c9bc5786b2dfc32b12ed762841b9e8c4bdcf6', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (5, '2026-03-02T07:00:00.000000Z', 'received', 5, 'A8', 'metal-1', 'ogee', NULL, NULL, NULL, NULL, NULL, NULL, 1000000000000, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 260000000, 'EUR', 'Ada', '', 5, NULL, NULL, NULL, NULL, 'd2bc125353221128d1abd61a615bd8c628ff4f7a63934a8e6319c7d2d54ad49f', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (6, '2026-03-02T08:00:00.000000Z', 'mounted', 1, NULL, NULL, NULL, NULL, NULL, 5, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'Ada', '', 1, NULL, NULL, NULL, NULL, '054b0ea94886c01bd6e1507621a36dbb74bf2c67a7a94dd64e539423dcf54db0', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (7, '2026-03-02T09:00:00.000000Z', 'mounted', 4, NULL, NULL, NULL, NULL, NULL, 2, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'Ada', '', 4, NULL, NULL, NULL, NULL, '36ea82bce1d41444568f133f1115728f9cd2a40bc2f103807f39c67b0aabdf17', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (8, '2026-03-02T10:00:00.000000Z', 'used', 1, NULL, NULL, NULL, 1, NULL, NULL, 'granite', 30000000, NULL, NULL, NULL, 'length', 9000000000, 9400000000, 20000000, NULL, 180000000, 0, 0, 20000000000, NULL, NULL, NULL, NULL, NULL, NULL, 1200000, NULL, 'EUR', 'Ada', '', 1, NULL, NULL, NULL, NULL, '3894f6966f5bea12749b85a5a4e2dec352208bd0864453c9296fa3a308cc1707', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (9, '2026-03-02T10:00:00.000000Z', 'used', 4, NULL, NULL, NULL, 1, NULL, NULL, 'granite', 30000000, NULL, NULL, NULL, 'length', 112500000000, 117500000000, 250000000, NULL, 2250000000, 0, 0, 250000000000, NULL, NULL, NULL, NULL, NULL, NULL, 15000000, NULL, 'EUR', 'Ada', '', 4, NULL, NULL, NULL, NULL, '889e40944b661dec15fa1064f7c96abbb916724435bedb0672f707dd851e9002', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (10, '2026-03-02T11:00:00.000000Z', 'used', 1, NULL, NULL, NULL, 2, NULL, NULL, 'granite', 30000000, NULL, NULL, NULL, 'length', 9000000000, 9400000000, 20000000, NULL, 180000000, 0, 0, 20000000000, NULL, NULL, NULL, NULL, NULL, NULL, 1200000, NULL, 'EUR', 'Ada', '', 1, NULL, NULL, NULL, NULL, '869ca8f140b172bc730deb21a820e7d9eba3d4b8ac0c086617ec2ea5dd3a5b8e', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (11, '2026-03-02T11:00:00.000000Z', 'used', 4, NULL, NULL, NULL, 2, NULL, NULL, 'granite', 30000000, NULL, NULL, NULL, 'length', 56250000000, 58750000000, 125000000, NULL, 1125000000, 0, 0, 125000000000, NULL, NULL, NULL, NULL, NULL, NULL, 7500000, NULL, 'EUR', 'Ada', '', 4, NULL, NULL, NULL, NULL, 'e94df060604e6064a71459a451c7cb5db928fed06de8c3fb4d1b13afd179bda9', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (12, '2026-03-02T12:00:00.000000Z', 'dressed', 4, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'Ada', '', 4, NULL, NULL, NULL, NULL, '129ed574bce293b998716ba71472ce65f94181d9f2b4b21d611559cc1ebc1bf7', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (13, '2026-03-02T13:00:00.000000Z', 'measured', 4, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 79100000, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'Ada', '', 4, NULL, NULL, NULL, NULL, '48aa8c08807ed4126baaa248c2bafe7c4ed2dafd432ac1d579039a0c6181f6ab', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (14, '2026-03-02T14:00:00.000000Z', 'reprofiled', 4, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 78400000, 900000000000, 'worn', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 45000000, 'EUR', 'Ada', '', 14, NULL, NULL, NULL, NULL, 'd9edec66faa75774b83e859befb032c4bbb4ebce32f5a281161d524a03b66f4c', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (15, '2026-03-02T15:00:00.000000Z', 'adjusted', 4, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 100000000000, NULL, NULL, NULL, 'Ada', 'Prüfmaß', 14, NULL, NULL, NULL, NULL, '502d210cf0381414c578ae370c29c0a50c3e137714c2ba1c2892fd85f6722bf8', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (16, '2026-03-02T16:00:00.000000Z', 'mounted', 5, NULL, NULL, NULL, NULL, NULL, 2, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'Ada', '', 5, NULL, NULL, NULL, NULL, '4a238bebdab889567ae9194ee520faa4bf2d88058c5f4525fe5416d1bb434c12', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (17, '2026-03-02T17:00:00.000000Z', 'used', 1, NULL, NULL, NULL, 3, NULL, NULL, 'granite', 30000000, NULL, NULL, NULL, 'length', 9000000000, 9400000000, 20000000, NULL, 180000000, 0, 0, 20000000000, NULL, NULL, NULL, NULL, NULL, NULL, 1200000, NULL, 'EUR', 'Ada', '', 1, NULL, NULL, NULL, NULL, '4ccd332e8c0f2c7eab626212e7d921bf6bdee6e6ccfc3a7e55e9216e19e2ebed', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (18, '2026-03-02T17:00:00.000000Z', 'used', 5, NULL, NULL, NULL, 3, NULL, NULL, 'granite', 30000000, NULL, NULL, NULL, 'length', 112500000000, 117500000000, 250000000, NULL, 2250000000, 0, 0, 250000000000, NULL, NULL, NULL, NULL, NULL, NULL, 15000000, NULL, 'EUR', 'Ada', '', 5, NULL, NULL, NULL, NULL, '3e691d632049851ba13d9ffdac3d0642d6fdf35e57c13eae993aac71c88a3e53', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (19, '2026-03-02T18:00:00.000000Z', 'reversed', 1, NULL, NULL, NULL, NULL, 17, NULL, 'granite', NULL, NULL, NULL, NULL, 'length', -9000000000, -9400000000, -20000000, NULL, -180000000, 0, 0, -20000000000, NULL, NULL, NULL, NULL, NULL, NULL, -1200000, NULL, 'EUR', 'Ada', 'pad was off', 1, NULL, NULL, NULL, NULL, '8b8da2b2b7f5ba5ab79972dd5f2bdce2b41c3fd71a97e937cf507b40efd2b336', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (20, '2026-03-02T19:00:00.000000Z', 'retired', 5, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'broken', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'Ada', '', 5, NULL, NULL, NULL, NULL, '164a68655aa7126f000e6b164c26fb83997249ef30c481ccee4d46bdede26518', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (21, '2026-03-02T20:00:00.000000Z', 'mounted', 1, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'Ada', '', 1, NULL, NULL, NULL, NULL, 'f0972ddcee53602c565d9d3ece1331a07e4c01d5c22ca0ac392a8f492e5677e6', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (22, '2026-03-02T21:00:00.000000Z', 'mounted', 1, NULL, NULL, NULL, NULL, NULL, 6, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'Ada', '', 1, NULL, NULL, NULL, NULL, 'd2b2127a9e48950d1a354ca5b241c86b20b8ca4ae727848da0fc14358302e317', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (23, '2026-03-09T07:00:00.000000Z', 'received', 23, 'B1', 'polish-2', NULL, NULL, NULL, NULL, NULL, NULL, NULL, 1000000000000, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'ada', '', 23, NULL, NULL, NULL, NULL, '3c5190c7f585d185280d6012d0543e536e337fced707d0c2014dfbb7f6455d18', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (24, '2026-03-09T07:00:00.000000Z', 'mounted', 23, NULL, NULL, NULL, NULL, NULL, 30, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'ada', '', 23, NULL, NULL, NULL, NULL, '2e7db2bfc08d111c4704630584d66bd1f2804d4b4971cc371eca09ccde6704af', NULL, NULL, NULL, NULL);
INSERT INTO public.entries VALUES (25, '2026-03-10T09:00:00.000000Z', 'ordered', 25, NULL, 'polish-1', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 58500000, 'EUR', 'ann', 'by phone', NULL, NULL, 'north', NULL, NULL, '7e311519eaea0bb9e9f1c62122876ddc0436c1246496d81e225be0cd00a3389a', '4711', NULL, 6, '2026-03-20');
INSERT INTO public.entries VALUES (26, '2026-03-10T09:00:00.000000Z', 'ordered', 26, NULL, 'metal-1', 'ogee', NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'ann', 'by phone', NULL, NULL, 'north', NULL, NULL, '0fb8b5bd2ead869c66530b1b263bdc0faae3bc9002906de159438e11649a6b5d', '4711', NULL, 2, '2026-03-27');
INSERT INTO public.entries VALUES (27, '2026-03-18T09:00:00.000000Z', 'received', 27, 'polish-1-004', 'polish-1', NULL, NULL, NULL, NULL, NULL, NULL, NULL, 1000000000000, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 58500000, 'EUR', 'ann', '', 27, NULL, 'north', 'B9', NULL, 'c6a4e6eaa88aa8a0ac2daf339c9718f823e2de7c1aa89a83675c0f0a79f87386', NULL, 25, NULL, NULL);
INSERT INTO public.entries VALUES (28, '2026-03-18T09:00:00.000000Z', 'received', 28, 'polish-1-005', 'polish-1', NULL, NULL, NULL, NULL, NULL, NULL, NULL, 1000000000000, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 58500000, 'EUR', 'ann', '', 28, NULL, 'north', 'B9', NULL, '312e743d253bb769064b3b48961bf13f5c4e6769e042e827e5e621f574c73c37', NULL, 25, NULL, NULL);
INSERT INTO public.entries VALUES (29, '2026-03-19T09:00:00.000000Z', 'rescheduled', 26, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'ann', '', NULL, NULL, NULL, NULL, NULL, '97ae5a0f978d86f4a01a146d67f5f66a00e336d287647c8b83b2497258afa2f3', NULL, NULL, NULL, '2026-04-02');
INSERT INTO public.entries VALUES (30, '2026-03-20T09:00:00.000000Z', 'cancelled', 25, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'ann', '', NULL, NULL, NULL, NULL, NULL, 'beeb253ea70846ce5924f7ae610aba9115b88fbdf8732c0f00a1ce7bad2c404e', NULL, NULL, 1, NULL);
INSERT INTO public.entries VALUES (31, '2026-03-21T09:00:00.000000Z', 'closed', 26, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'ann', '', NULL, NULL, NULL, NULL, NULL, '893a21735e49acf853759e811f06d6e878e0f95634264762d9cf4560ba56f7fd', NULL, NULL, 2, NULL);
INSERT INTO public.entries VALUES (32, '2026-03-22T09:00:00.000000Z', 'reversed', 26, NULL, NULL, NULL, NULL, 31, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'ann', '', NULL, NULL, NULL, NULL, NULL, '51033dd8b36599feeaec7804c5fb7e86725228f1f15c0a6e61a80d2e59d927b2', NULL, NULL, NULL, NULL);
INSERT INTO public.runs VALUES (1, 'bar 3', 1, 'd1', 0, 412500000, 8250000, NULL, NULL);
INSERT INTO public.runs VALUES (2, 'bar 3', 2, 'd1', 1, 412500000, 8250000, NULL, NULL);
INSERT INTO public.runs VALUES (3, 'desk', 1, 'd2', 0, 412500000, 8250000, NULL, NULL);
ALTER TABLE ONLY public.alembic_version
    ADD CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num);
ALTER TABLE ONLY public.entries
    ADD CONSTRAINT entries_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.entries
    ADD CONSTRAINT entries_reverses_key UNIQUE (reverses);
ALTER TABLE ONLY public.runs
    ADD CONSTRAINT runs_pkey PRIMARY KEY (id);
CREATE INDEX entries_at ON public.entries USING btree (at);
CREATE INDEX entries_diameter ON public.entries USING btree (piece, id) WHERE (diameter_nm IS NOT NULL);
CREATE INDEX entries_mounted ON public.entries USING btree (piece, id) WHERE (kind = 'mounted'::text);
CREATE INDEX entries_of_order ON public.entries USING btree (of_order) WHERE (of_order IS NOT NULL);
CREATE INDEX entries_ordered ON public.entries USING btree (id) WHERE (kind = 'ordered'::text);
CREATE INDEX entries_piece ON public.entries USING btree (piece, id);
CREATE INDEX entries_pocket ON public.entries USING btree (pocket, id) WHERE (kind = 'mounted'::text);
CREATE INDEX entries_restored ON public.entries USING btree (piece, id) WHERE (restored_e12 IS NOT NULL);
CREATE INDEX entries_retired ON public.entries USING btree (piece, id) WHERE (kind = 'retired'::text);
CREATE INDEX entries_run ON public.entries USING btree (run) WHERE (run IS NOT NULL);
CREATE INDEX entries_serial ON public.entries USING btree (serial) WHERE (serial IS NOT NULL);
CREATE INDEX runs_load ON public.runs USING btree (load_name, run_no);
CREATE TRIGGER entries_append_only BEFORE DELETE OR UPDATE OR TRUNCATE ON public.entries FOR EACH STATEMENT EXECUTE FUNCTION public.ledger_append_only();
CREATE TRIGGER entries_next BEFORE INSERT ON public.entries FOR EACH ROW EXECUTE FUNCTION public.ledger_next();
CREATE TRIGGER runs_append_only BEFORE DELETE OR UPDATE OR TRUNCATE ON public.runs FOR EACH STATEMENT EXECUTE FUNCTION public.ledger_append_only();
CREATE TRIGGER runs_next BEFORE INSERT ON public.runs FOR EACH ROW EXECUTE FUNCTION public.ledger_next();
CREATE TRIGGER runs_once BEFORE INSERT ON public.runs FOR EACH ROW EXECUTE FUNCTION public.ledger_run_once();
ALTER TABLE ONLY public.entries
    ADD CONSTRAINT entries_life_fkey FOREIGN KEY (life) REFERENCES public.entries(id);
ALTER TABLE ONLY public.entries
    ADD CONSTRAINT entries_of_order_fkey FOREIGN KEY (of_order) REFERENCES public.entries(id);
ALTER TABLE ONLY public.entries
    ADD CONSTRAINT entries_piece_fkey FOREIGN KEY (piece) REFERENCES public.entries(id);
ALTER TABLE ONLY public.entries
    ADD CONSTRAINT entries_reverses_fkey FOREIGN KEY (reverses) REFERENCES public.entries(id);
ALTER TABLE ONLY public.entries
    ADD CONSTRAINT entries_run_fkey FOREIGN KEY (run) REFERENCES public.runs(id);
REVOKE USAGE ON SCHEMA public FROM PUBLIC;
