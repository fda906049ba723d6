using static HilRunner.Core.Recordings.Parquet.ThriftWalk;

namespace HilRunner.Core.Recordings.Parquet;

/// <summary>The structs of a Parquet file's footer and pages, as the format's definition has them (apache/parquet-format, parquet.thrift).</summary>
internal static class ParquetStructs
{
    public const string PageName = "page header", DataPageName = "data page header", DataPageV2Name = "data page header v2";

    private static readonly ThriftField s_bool = new(True), s_i8 = new(I8), s_i16 = new(I16), s_i32 = new(I32), s_i64 = new(I64), s_double = new(ThriftWalk.Double), s_text = new(Binary);

    private static readonly ThriftField s_empty = Of("empty");
    private static readonly ThriftField s_timeUnit = Of("time unit", (1, s_empty), (2, s_empty), (3, s_empty));
    private static readonly ThriftField s_time = Of("time type", (1, s_bool), (2, s_timeUnit));
    private static readonly ThriftField s_logicalType = Of("logical type",
        (1, s_empty), (2, s_empty), (3, s_empty), (4, s_empty), (5, Of("decimal type", (1, s_i32), (2, s_i32))), (6, s_empty), (7, s_time), (8, s_time),
        (10, Of("int type", (1, s_i8), (2, s_bool))), (11, s_empty), (12, s_empty), (13, s_empty), (14, s_empty), (15, s_empty),
        (16, Of("variant type", (1, s_i8))), (17, Of("geometry type", (1, s_text))), (18, Of("geography type", (1, s_text), (2, s_i32))));

    private static readonly ThriftField s_schemaElement = Of("schema element",
        (1, s_i32), (2, s_i32), (3, s_i32), (4, s_text), (5, s_i32), (6, s_i32), (7, s_i32), (8, s_i32), (9, s_i32), (10, s_logicalType));

    private static readonly ThriftField s_keyValue = Of("key and value", (1, s_text), (2, s_text));
    private static readonly ThriftField s_statistics = Of("statistics", (1, s_text), (2, s_text), (3, s_i64), (4, s_i64), (5, s_text), (6, s_text), (7, s_bool), (8, s_bool));
    private static readonly ThriftField s_sizes = Of("size statistics", (1, s_i64), (2, ListOf(s_i64)), (3, ListOf(s_i64)));

    private static readonly ThriftField s_box = Of("bounding box", [.. Enumerable.Range(1, 8).Select(n => (n, s_double))]);
    private static readonly ThriftField s_geometry = Of("geospatial statistics", (1, s_box), (2, ListOf(s_i32)));

    private static readonly ThriftField s_columnMetadata = Of("column metadata",
        (1, s_i32), (2, ListOf(s_i32)), (3, ListOf(s_text)), (4, s_i32), (5, s_i64), (6, s_i64), (7, s_i64), (8, ListOf(s_keyValue)), (9, s_i64), (10, s_i64), (11, s_i64),
        (12, s_statistics), (13, ListOf(Of("encoding statistics", (1, s_i32), (2, s_i32), (3, s_i32)))), (14, s_i64), (15, s_i32), (16, s_sizes), (17, s_geometry));

    private static readonly ThriftField s_columnChunk = Of("column chunk",
        (1, s_text), (2, s_i64), (3, s_columnMetadata), (4, s_i64), (5, s_i32), (6, s_i64), (7, s_i32));

    private static readonly ThriftField s_rowGroup = Of("row group",
        (1, ListOf(s_columnChunk)), (2, s_i64), (3, s_i64), (4, ListOf(Of("sorting column", (1, s_i32), (2, s_bool), (3, s_bool)))), (5, s_i64), (6, s_i64), (7, s_i16));

    /// <summary>Encryption, fields 8 and 9, is left out: such files are refused.</summary>
    public static ThriftStruct File { get; } = Of("file metadata",
        (1, s_i32), (2, ListOf(s_schemaElement)), (3, s_i64), (4, ListOf(s_rowGroup)), (5, ListOf(s_keyValue)), (6, s_text), (7, ListOf(Of("column order", (1, s_empty))))).Struct!;

    public static ThriftStruct Page { get; } = Of(PageName,
        (1, s_i32), (2, s_i32), (3, s_i32), (4, s_i32), (5, Of(DataPageName, (1, s_i32), (2, s_i32), (3, s_i32), (4, s_i32), (5, s_statistics))), (6, s_empty),
        (7, Of("dictionary page header", (1, s_i32), (2, s_i32), (3, s_bool))),
        (8, Of(DataPageV2Name, (1, s_i32), (2, s_i32), (3, s_i32), (4, s_i32), (5, s_i32), (6, s_i32), (7, s_bool), (8, s_statistics)))).Struct!;

    private static ThriftField Of(string name, params (int Number, ThriftField Field)[] fields) =>
        new(Struct, Struct: new(name, fields.ToDictionary(f => f.Number, f => f.Field)));

    private static ThriftField ListOf(ThriftField item) => new(List, item);
}
