using System.Globalization;
using System.Text;
using HilRunner.Core.Recordings;
using HilRunner.Core.Recordings.Import;
using HilRunner.Fuzz.Tests.Running;
using HilRunner.Inspection;
using HilRunner.Inspection.Reading;
using HilRunner.Reporting;
using Parquet;
using Parquet.Schema;

namespace HilRunner.Fuzz.Tests.Readers;

/// <summary>Recordings and logs: read strictly, inspected leniently, imported.</summary>
internal static class RecordingReaders
{
    public static IReadOnlyList<Reader> All { get; } =
    [
        new("recording", Form.Table,
            stock => [Few(stock, "short.csv"), Cut(Stock.Checkout("scenarios/pump/recordings/shift.csv")),
                Cut(Stock.Checkout("scenarios/parcel/recordings/belt.csv"))], (stock, folder) =>
        {
            File.Copy(stock.File("short.yaml"), Path.Combine(folder, "case.yaml"));
            return Reading(folder, "case.csv");
        }),
        new("labels", Form.Table, _ => Stock.Matching("scenarios", "*.labels.csv", _ => true), (stock, folder) =>
        {
            File.Copy(stock.File("short.yaml"), Path.Combine(folder, "case.yaml"));
            File.WriteAllBytes(Path.Combine(folder, "case.csv"), Few(stock, "short.csv"));
            return Reading(folder, "case.labels.csv", "case.csv");
        }),
        new("labels of others", Form.Table, stock =>
            [.. Stock.OpenData("activity/labels.txt", 60), DocumentReaders.Utf8("1 1 2 10 30\n1 1 3 40 80\n")], (stock, folder) =>
        {
            File.WriteAllBytes(Path.Combine(folder, "case.txt"),
                DocumentReaders.Utf8(string.Concat(Enumerable.Range(0, 100).Select(i => $"0.{i:00} 0.1 0.98\n"))));
            var map = new ImportMap
            {
                Reading = new() { Format = ImportFormat.Text, Separator = "space", Header = false,
                    Columns = [new("ax", null, 1), new("ay", null, 2), new("az", null, 3)],
                        AllColumns = true, Acceleration = new("g") },
                Rate = new(50_000),
                Labels = new("labels.txt", ["experiment", "user", "class", "first", "last"]) { Separator = "space",
                    Where = new Dictionary<string, string> { ["experiment"] = "1", ["user"] = "1" } },
            };
            var import = Importing(folder, "case.txt", _ => map);
            return bytes =>
            {
                File.WriteAllBytes(Path.Combine(folder, "labels.txt"), bytes);
                import(null);
            };
        }) { Writes = ["out"] },
        new("parquet", Form.Parquet, ParquetSeeds, (_, folder) =>
        {
            var read = Reading(folder, "case.parquet");
            var import = Importing(folder, "case.parquet", _ => new());
            return bytes => Both(() => read(bytes), () => import(null));
        }) { Writes = ["out"] },
        new("text log", Form.Table, TextLogs, (_, folder) => Importing(folder, "case.txt", Varied)!) { Writes = ["out"] },
        new("JSON log", Form.JsonLines, _ => JsonLogs(),
            (_, folder) => Importing(folder, "case.jsonl", Varied)!) { Writes = ["out"] },
    ];

    /// <summary>Read strictly, and leniently to be inspected: each may refuse it.</summary>
    private static Action<byte[]> Reading(string folder, string name, string? recording = null)
    {
        string path = Path.Combine(folder, recording ?? name);
        return bytes =>
        {
            File.WriteAllBytes(Path.Combine(folder, name), bytes);
            Both(() => _ = RecordingFile.Read(path), () =>
            {
                var inspection = Inspector.Inspect(InspectedFile.Read(path));
                InspectReport.Write([inspection], TextWriter.Null);
            });
        };
    }

    /// <param name="map">What is said beforehand, by the bytes: so that a case is the same whenever it is read.</param>
    private static Action<byte[]?> Importing(string folder, string name, Func<byte[], ImportMap> map)
    {
        string path = Path.Combine(folder, name), output = Path.Combine(folder, "out");
        return bytes =>
        {
            if (bytes is not null) { File.WriteAllBytes(path, bytes); }
            var survey = RecordingImport.Survey(
                path, map(bytes ?? []), new(output, Parquet: bytes is { Length: > 0 } && bytes.Length % 4 == 0));
            RecordingImport.Write(survey);
            Directory.Delete(output, recursive: true);
        };
    }

    private static ImportMap Varied(byte[] bytes) => new()
    {
        SplitAtGaps = bytes.Length % 2 == 0,
        SplitAtBadRows = bytes.Length % 3 == 0,
        Rate = bytes.Length % 5 == 0 ? new(50_000) : null,
        Resample = bytes.Length % 7 == 0 ? new(100_000) : null,
    };

    /// <summary>Does the second also when the first refuses; refuses when one did.</summary>
    private static void Both(Action first, Action second)
    {
        Core.BadInputException? refused = null;
        try { first(); }
        catch (Core.BadInputException bad) when (Reader.IsBadInput(bad)) { refused = bad; }
        second();
        if (refused is not null) { throw refused; }
    }

    private static byte[] Few(Stock stock, string name) => Cut(stock.File(name));

    private static byte[] Cut(string path) =>
        DocumentReaders.Utf8(string.Concat(File.ReadLines(path).Take(80).Select(l => l + "\n")));

    private static IEnumerable<byte[]> TextLogs(Stock stock) =>
    [
        Rows(" ", "\n", _ => ""),
        [.. DocumentReaders.Utf8("t_s,ax_g,ay_g,az_g\n"), .. Rows(",", "\n", i => FormattableString.Invariant($"{i * 0.02m},"))],
        [.. DocumentReaders.Utf8("# log\ntime (ms);class;acc_x;acc_y;acc_z\r\n"),
            .. Rows(";", "\r\n", i => $"{i * 20};{(i < 30 ? "a" : "\"b;c\"")};")],
        [.. DocumentReaders.Utf8("stamp\tx\ty\tz\n"),
            .. Rows("\t", "\n",
                i => string.Create(CultureInfo.InvariantCulture, $"{DateTime.UnixEpoch.AddMilliseconds(1.7e12 + i * 20):o}\t"))],
        Rows(",", ";\n", i => $"{1_500_000_000_000_000 + i * 50_000_000L},"),
        Encoding.Unicode.GetBytes(Encoding.UTF8.GetString(Rows(",", "\n", i => $"{i * 20},"))),
        .. Stock.OpenData("activity/acc_exp01_user01.txt", 60), .. Stock.OpenData("activity-daily/data_1631_accel_phone.txt", 60),
            .. Stock.OpenData("drops/fall_01.csv", 60), .. Stock.OpenData("vibration/fan.csv", 60),
    ];

    private static byte[] Rows(string separator, string end, Func<int, string> time) =>
        DocumentReaders.Utf8(string.Concat(Enumerable.Range(0, 60).Select(i =>
        FormattableString.Invariant(
            $"{time(i)}{Math.Round(Math.Sin(i), 4)}{separator}{Math.Round(Math.Cos(i) / 9, 3)}{separator}0.98{end}"))));

    private static IEnumerable<byte[]> JsonLogs() =>
    [
        JsonRows(i => $$$"""{"t":{{{i * 20}}},"acc":{"x":{{{Math.Round(Math.Sin(i), 4)}}},"y":0.1,"z":0.98}}"""),
        JsonRows(i =>
            $$"""{"time":"{{DateTime.UnixEpoch.AddMilliseconds(1.7e12 + i * 20):o}}","values":[{{Math.Round(Math.Sin(i), 4)}},0.1,0.98],"label":"{{(i < 30 ? "a" : "b")}}"}"""),
        JsonRows(i =>
            $$"""{"stamp_us":{{i * 20_000}},"ax":{{i % 7}},"ay":1e-1,"az":-0.98,"note":"a \u00e9 \"b\"","more":null}"""),
    ];

    private static byte[] JsonRows(Func<int, FormattableString> row) =>
        DocumentReaders.Utf8(string.Concat(Enumerable.Range(0, 60).Select(i => FormattableString.Invariant(row(i)) + "\n")));

    /// <summary>The native form, and others': strings from a dictionary, nulls, compressed and not.</summary>
    private static IEnumerable<byte[]> ParquetSeeds(Stock stock)
    {
        using var folder = Testing.TestPaths.NewFolder();
        File.Copy(stock.File("short.csv"), folder.File("short.csv"));
        File.Copy(stock.File("short.labels.csv"), folder.File("short.labels.csv"));
        File.Copy(stock.File("short.yaml"), folder.File("short.yaml"));
        var survey = RecordingImport.Survey(folder.File("short.csv"), new(), new(folder.Path, "native", Parquet: true));
        RecordingImport.Write(survey);
        RecordingFile.Write(folder.File("again.parquet"), RecordingFile.Read(folder.File("short.csv")));
        foreach (var method in (CompressionMethod[])[CompressionMethod.None, CompressionMethod.Snappy, CompressionMethod.Gzip])
        {
            Foreign(folder.File($"{method}.parquet"), method).Wait();
        }
        return [.. Directory.GetFiles(folder.Path, "*.parquet").Order(StringComparer.Ordinal).Select(File.ReadAllBytes)];
    }

    private static async Task Foreign(string path, CompressionMethod method)
    {
        var (t, x, y, z, c) =
            (new DataField<long>("timestamp_ms"), new DataField<double>("acc_x"), new DataField<float?>(
                "acc_y"), new DataField<int>("acc_z"), new DataField<string>("class"));
        using var stream = File.Create(path);
        await using var writer = await ParquetWriter.CreateAsync(new(t, x, y, z, c), stream, new() { CompressionMethod = method })
            .ConfigureAwait(false);
        for (int g = 0; g < 2; g++)
        {
            using var group = writer.CreateRowGroup();
            await group.WriteAsync<long>(t, Enumerable.Range(g * 40, 40).Select(i => i * 20L).ToArray()).ConfigureAwait(false);
            await group.WriteAsync<double>(x, Enumerable.Range(0, 40).Select(i => Math.Sin(i)).ToArray()).ConfigureAwait(false);
            await group.WriteAsync<float>(y, Enumerable.Range(0, 40).Select(i => i == 5 ? null : (float?)(i / 100f)).ToArray())
                .ConfigureAwait(false);
            await group.WriteAsync<int>(z, Enumerable.Repeat(1, 40).ToArray()).ConfigureAwait(false);
            await group.WriteAsync(c, Enumerable.Range(0, 40).Select(i => i < 20 ? "resting" : "carried").ToArray())
                .ConfigureAwait(false);
        }
    }
}
