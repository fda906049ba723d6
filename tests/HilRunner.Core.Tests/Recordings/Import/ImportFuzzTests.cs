using System.Text;
using HilRunner.Core.Recordings;
using HilRunner.Core.Recordings.Import;
using HilRunner.Testing;
using ParquetSharp;
using Encoding = System.Text.Encoding;

namespace HilRunner.Core.Tests.Recordings.Import;

/// <summary>
/// Damaged files of every kind: an error with a place, or recordings that hold what the counts say; never anything else. How many:
/// HIL_FUZZ (default 3000); where to start: HIL_FUZZ_SEED. The seed of a failure is in its message.
/// </summary>
public class ImportFuzzTests
{
    private static readonly string[] s_damage = [",", ";", "\n", "\r\n", "\t", " ", "\"", ".", "-", "e", "NaN", "#", "\0", "999999999999999999999999", "{", "}", ":", "[", "é", "1,2,3\n", "-5"];

    private static readonly string[] s_names = ["a.txt", "b.csv", "c.csv", "d.jsonl", "e.parquet", "f.txt", "g.parquet"];
    private static readonly TimeSpan s_longest = TimeSpan.FromSeconds(60);

    [Test]
    public void Never_a_crash_a_hang_or_a_row_lost()
    {
        int files = int.Parse(Environment.GetEnvironmentVariable("HIL_FUZZ") ?? "3000", System.Globalization.CultureInfo.InvariantCulture);
        int first = int.Parse(Environment.GetEnvironmentVariable("HIL_FUZZ_SEED") ?? "1", System.Globalization.CultureInfo.InvariantCulture);
        using var folder = TestPaths.NewFolder();
        byte[][] seeds = [.. Seeds(folder).Select(File.ReadAllBytes)];
        int refused = 0, imported = 0, current = first;
        var work = Task.Factory.StartNew(() =>
        {
            for (; current < first + files; current++)
            {
                if (One(folder, seeds, current)) { imported++; } else { refused++; }
            }
        }, CancellationToken.None, TaskCreationOptions.LongRunning, TaskScheduler.Default);
        for (int last = -1; !work.Wait(s_longest); last = current)
        {
            Assert.That(current, Is.Not.EqualTo(last), $"seed {current} takes more than {s_longest}: a hang");
        }
        TestContext.Out.WriteLine($"{files} files from seed {first}: {imported} imported, {refused} refused");
        Assert.That(Math.Min(imported, refused), Is.GreaterThan(files / 50), $"{imported} imported, {refused} refused");
    }

    /// <summary>True: imported; false: refused with a fault.</summary>
    private static bool One(TemporaryFolder folder, byte[][] seeds, int seed)
    {
        var random = new Random(seed);
        int kind = random.Next(seeds.Length);
        bool parquet = s_names[kind].EndsWith(".parquet", StringComparison.Ordinal);
        string path = folder.File(s_names[kind]), output = folder.File("out");
        File.WriteAllBytes(path, parquet ? DamagedBytes(seeds[kind], random) : Damaged(seeds[kind], random));
        var map = new ImportMap { SplitAtGaps = random.Next(2) == 0, SplitAtBadRows = random.Next(2) == 0, Rate = kind == 0 ? new(50_000) : null };
        try
        {
            var survey = RecordingImport.Survey(path, map, new(output, null, random.Next(4) == 0));
            RecordingImport.Write(survey);
            Check(survey);
            // Rows that an open quotation mark holds together count their lines, empty ones among them.
            bool held = survey.BadRows.Any(f => f.Found.Contains("held together", StringComparison.Ordinal));
            if (!parquet) { Assert.That(survey.Rows.Read, held ? Is.GreaterThanOrEqualTo(LinesOfData(path, survey.Map.Reading)) : Is.EqualTo(LinesOfData(path, survey.Map.Reading)), "lines of data"); }
            Directory.Delete(output, recursive: true);
            return true;
        }
        catch (BadInputException fault) when (fault.Faults.All(f => f.Found.Length > 0 && f.Expected.Length > 0 && f.File.Length > 0))
        {
            return false;
        }
        catch (Exception e)
        {
            string kept = Path.Combine(TestContext.CurrentContext.WorkDirectory, $"fuzz-{seed}-{s_names[kind]}");
            File.Copy(path, kept, overwrite: true);
            throw new InvalidOperationException($"seed {seed}, file kept as {kept}", e);
        }
    }

    private static void Check(ImportSurvey survey)
    {
        var rows = survey.Rows;
        Assert.That(rows.Used + rows.LeftOut + rows.Bad + rows.WithoutPartner + rows.TooShort, Is.EqualTo(rows.Read), "rows");
        Assert.That(survey.Recordings.Sum(r => r.Rows), Is.EqualTo(rows.Used));
        Assert.That(rows.Bad == 0 || survey.BadRows.Count > 0, "bad rows are told");
        foreach (var plan in survey.Recordings)
        {
            var read = RecordingFile.Read(Path.Combine(survey.Destination.Folder, plan.Name + (survey.Destination.Parquet ? ".parquet" : ".csv")));
            Assert.That(read.SampleCount, Is.EqualTo(plan.Rows), plan.Name);
            Assert.That(read.Rate, Is.EqualTo(plan.Rate));
            Assert.That(read.Labels, Is.EqualTo(plan.Labels));
        }
    }

    /// <summary>Counted without the reader.</summary>
    private static int LinesOfData(string path, ImportReading reading)
    {
        string text = TextRows.EncodingOf(reading.Encoding ?? TextCoding.Utf8).GetString(File.ReadAllBytes(path)).TrimStart('\uFEFF');
        bool anyBlank = reading.Format == ImportFormat.JsonLines || reading.Separator == "space";
        string[] ends = anyBlank ? ["\n"] : ["\r\n", "\n", "\r"];
        string[] lines = [.. text.Split(ends, StringSplitOptions.None).Skip(reading.Skip ?? 0).Where(l => l.Length > 0 && !(string.IsNullOrWhiteSpace(l) && (anyBlank || reading.Separator != "tab" || !l.Contains('\t', StringComparison.Ordinal))))];
        return lines.Count(l => reading.Comment is not { Length: > 0 } comment || !l.TrimStart().StartsWith(comment, StringComparison.Ordinal)) - (reading.Header == true ? 1 : 0);
    }

    private static string[] Seeds(TemporaryFolder folder)
    {
        string Rows(string separator, string end, Func<int, string> time) => string.Concat(Enumerable.Range(0, 60).Select(i =>
            FormattableString.Invariant($"{time(i)}{Math.Round(Math.Sin(i), 4)}{separator}{Math.Round(Math.Cos(i) / 9, 3)}{separator}0.98{end}")));
        (string Name, string Text)[] texts =
        [
            ("1", Rows(" ", "\n", _ => "")),
            ("2", "t_s,ax_g,ay_g,az_g\n" + Rows(",", "\n", i => FormattableString.Invariant($"{i * 0.02m},"))),
            ("3", "# log\ntime (ms);class;acc_x;acc_y;acc_z\r\n" + Rows(";", "\r\n", i => $"{i * 20};{(i < 30 ? "a" : "\"b;c\"")};")),
            ("4", string.Concat(Enumerable.Range(0, 60).Select(i => FormattableString.Invariant($"{{\"t\":{i * 20},\"acc\":{{\"x\":{Math.Round(Math.Sin(i), 4)},\"y\":0.1,\"z\":0.98}}}}\n")))),
            ("6", Rows(",", ";\n", i => $"{1_500_000_000_000_000 + i * 50_000_000L},")),
        ];
        foreach (var (name, text) in texts) { File.WriteAllText(folder.File(name), text); }
        var parquet = RecordingImport.Survey(folder.File("2"), new ImportMap(), new(folder.Path, "5", Parquet: true));
        RecordingImport.Write(parquet);
        Foreign(folder.File("7.parquet"));
        return [folder.File("1"), folder.File("2"), folder.File("3"), folder.File("4"), folder.File("5.parquet"), folder.File("6"), folder.File("7.parquet")];
    }

    /// <summary>By another writer: a dictionary of strings, nulls, statistics, and pages of another kind.</summary>
    private static void Foreign(string path)
    {
        using var writer = new ParquetFileWriter(path, [new Column<long>("timestamp_ms"), new Column<double>("acc_x"), new Column<float?>("acc_y"), new Column<int>("acc_z"), new Column<string>("class")]);
        for (int g = 0; g < 2; g++)
        {
            using var group = writer.AppendRowGroup();
            group.NextColumn().LogicalWriter<long>().WriteBatch([.. Enumerable.Range(g * 40, 40).Select(i => i * 20L)]);
            group.NextColumn().LogicalWriter<double>().WriteBatch([.. Enumerable.Range(0, 40).Select(i => Math.Sin(i))]);
            group.NextColumn().LogicalWriter<float?>().WriteBatch([.. Enumerable.Range(0, 40).Select(i => i == 50 ? null : (float?)(i / 100f))]);
            group.NextColumn().LogicalWriter<int>().WriteBatch([.. Enumerable.Repeat(1, 40)]);
            group.NextColumn().LogicalWriter<string>().WriteBatch([.. Enumerable.Range(0, 40).Select(i => i < 20 ? "resting" : "carried")]);
        }
        writer.Close();
    }

    private static byte[] Damaged(byte[] good, Random random)
    {
        var text = new StringBuilder(Encoding.UTF8.GetString(good));
        for (int i = random.Next(4); i >= 0; i--)
        {
            int at = random.Next(text.Length);
            switch (random.Next(6))
            {
                case 0: text.Remove(at, Math.Min(random.Next(1, 40), text.Length - at)); break;
                case 1: text.Insert(at, s_damage[random.Next(s_damage.Length)]); break;
                case 2: text[at] = (char)random.Next(1, 128); break;
                case 3: text.Length = Math.Max(1, at); break;
                case 4: text.Insert(at, text.ToString(at, Math.Min(random.Next(1, 200), text.Length - at))); break;
                default: text.Replace(",", s_damage[random.Next(s_damage.Length)], at, Math.Min(30, text.Length - at)); break;
            }
            if (text.Length == 0) { text.Append('\n'); }
        }
        byte[] bytes = random.Next(20) == 0 ? Encoding.Unicode.GetBytes(text.ToString()) : Encoding.UTF8.GetBytes(text.ToString());
        return random.Next(10) == 0 ? DamagedBytes(bytes, random) : bytes;
    }

    private static byte[] DamagedBytes(byte[] good, Random random)
    {
        byte[] bytes = [.. good];
        for (int i = random.Next(3); i >= 0; i--) { bytes[random.Next(bytes.Length)] = (byte)random.Next(256); }
        return random.Next(4) == 0 ? bytes[..random.Next(1, bytes.Length)] : bytes;
    }
}
