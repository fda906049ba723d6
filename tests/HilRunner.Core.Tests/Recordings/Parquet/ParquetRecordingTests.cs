using System.Globalization;
using CsCheck;
using HilRunner.Core.Recordings;
using HilRunner.Core.Recordings.Import;
using HilRunner.Core.Signals;
using HilRunner.Core.Tests.Recordings.Import;
using HilRunner.Testing;
using ParquetSharp;

namespace HilRunner.Core.Tests.Recordings.Parquet;

/// <summary>The second native form, also against the reference implementation (Apache Arrow's, through ParquetSharp).</summary>
public class ParquetRecordingTests
{
    private static readonly Gen<string> s_fixed = from n in Gen.Int[-9999, 9999] where n != 0 select (n / 1000m).ToString("F3", CultureInfo.InvariantCulture);
    private static readonly Gen<string> s_trimmed = from n in Gen.Int[-9999, 9999] select (n / 1000m).ToString("0.###", CultureInfo.InvariantCulture);
    private static readonly Gen<string> s_shortest = from v in Gen.Double[-16, 16] select v.ToString("R", CultureInfo.InvariantCulture);
    private static readonly Gen<string> s_mixed = Gen.OneOf("1.50", "1.5", "-0", "1e-3", "+7", "0.123456789012345678901234567890");

    /// <summary>CSV → Parquet → CSV: the same bytes, but for columns that the preview says are kept as values.</summary>
    [Test]
    public void The_text_of_every_number_comes_back()
    {
        int lossless = 0, values = 0;
        Gen.Select(Gen.OneOf(s_fixed, s_trimmed, s_shortest, s_mixed).Array[3], Gen.OneOf(Gen.Const("t_s,"), Gen.Const("")), Gen.Int[1, 30], Gen.Int[0, 3]).Sample((_, time, count, kinds) =>
        {
            using var import = new Importing();
            var kind = new[] { s_fixed, s_trimmed, s_shortest, s_mixed }[kinds];
            var cells = kind.Array[count * 2].Single();
            string csv = time + "ax_g,gz_radps\n" + string.Concat(Enumerable.Range(0, count).Select(i => $"{(time.Length > 0 ? (5 + i * 0.02m).ToString(CultureInfo.InvariantCulture) + "," : "")}{cells[2 * i]},{cells[2 * i + 1]}\n"));
            string log = import.File("log.csv", csv);
            import.File("log.yaml", "rate: 50 Hz\nrange: 8 g\nsource: \"someone\"\n");
            import.File("log.labels.csv", "start_s,end_s,class\n5.01,5.1,a\n5.1,99,b\n");
            var survey = import.Survey(log, "", parquet: true);
            RecordingImport.Write(survey);
            string parquet = survey.Files.Single();
            var back = RecordingImport.Survey(parquet, new ImportMap(), new(Path.Combine(import.Out, "back")));
            RecordingImport.Write(back);
            string text = File.ReadAllText(Path.Combine(import.Out, "back", "log.csv"));
            if (survey.Columns.All(c => c.Stored is null || !c.Stored.Contains("shortest", StringComparison.Ordinal)))
            {
                lossless++;
                Assert.That(text, Is.EqualTo(csv));
            }
            else { values++; }
            Same(RecordingFile.Read(parquet), RecordingFile.Read(log));
            Same(RecordingFile.Read(Path.Combine(import.Out, "back", "log.csv")), RecordingFile.Read(log));
        }, iter: 300, threads: 1);
        Assert.That(lossless, Is.GreaterThan(150));
        Assert.That(values, Is.GreaterThan(20));
    }

    [Test]
    public void The_reference_implementation_reads_the_same()
    {
        using var import = new Importing();
        string log = import.File("log.csv", "t_s,ax_g,gz_radps\n0,0.500,1e-7\n0.02,-0.250,2.5\n0.04,12.125,-0\n");
        import.File("log.labels.csv", "start_s,end_s,class\n0,0.04,resting\n");
        RecordingImport.Write(import.Survey(log, "range: 8 g\n", parquet: true));
        using var file = new ParquetFileReader(Path.Combine(import.Out, "log.parquet"));
        using var group = file.RowGroup(0);
        Assert.That(group.Column(1).LogicalReader<decimal>().ReadAll(3), Is.EqualTo([0.5m, -0.25m, 12.125m]));
        Assert.That(group.Column(2).LogicalReader<double>().ReadAll(3), Is.EqualTo([1e-7, 2.5, -0.0]));
        Assert.That(file.FileMetaData.Schema.Column(1).Name, Is.EqualTo("ax_g"));
        Assert.That(file.FileMetaData.Schema.Column(1).LogicalType.ToString(), Is.EqualTo("Decimal(precision=18, scale=3)"));
        Assert.That(file.FileMetaData.KeyValueMetadata["hilrunner.side"], Is.EqualTo("rate: 50 Hz\nrange: 8 g\n"));
        Assert.That(file.FileMetaData.KeyValueMetadata["hilrunner.labels"], Is.EqualTo("start_s,end_s,class\n0,0.04,resting\n"));
    }

    [Test]
    public void A_file_of_the_reference_implementation_is_a_log()
    {
        using var import = new Importing();
        string path = import.File("log.parquet", "");
        using (var writer = new ParquetFileWriter(path, [
            new Column<long>("timestamp_ns"), new Column<float>("acc_x"), new Column<double?>("acc_y"), new Column<int>("acc_z"), new Column<string>("state")]))
        {
            using var group = writer.AppendRowGroup();
            group.NextColumn().LogicalWriter<long>().WriteBatch([0, 20_000_000, 40_000_000]);
            group.NextColumn().LogicalWriter<float>().WriteBatch([0.1f, 0.2f, 0.3f]);
            group.NextColumn().LogicalWriter<double?>().WriteBatch([1.5, null, -2]);
            group.NextColumn().LogicalWriter<int>().WriteBatch([1, 2, 3]);
            group.NextColumn().LogicalWriter<string>().WriteBatch(["a", "a", "b"]);
            writer.Close();
        }
        const string map = "columns: {t: timestamp_ns, ax: acc_x, az: acc_z, label: state}\nacceleration: g\n";
        var recording = import.Import(path, map).Single();
        Assert.That(recording.Channels, Is.EqualTo(new double[][] { [0.1, 0.2, 0.3], [1, 2, 3] }));
        Assert.That(recording.Labels.Select(l => l.Class), Is.EqualTo(["a", "b"]));
        Assert.That(() => import.Survey(path, map.Replace("ax: acc_x", "ax: acc_x, ay: acc_y", StringComparison.Ordinal)), Throws.TypeOf<BadInputException>().With.Message.Contains("log.parquet:2: nothing as ay"));
    }

    [Test]
    public void A_scenario_plays_it_as_it_plays_the_csv()
    {
        using var import = new Importing();
        string log = Path.Combine(TestPaths.Root, "scenarios", "parcel", "recordings", "drops.csv");
        var survey = RecordingImport.Survey(log, new ImportMap(), new(import.Out, "drops", Parquet: true));
        RecordingImport.Write(survey);
        var shelf = new RecordingShelf("");
        Same(shelf.Get(survey.Files.Single(), null), RecordingFile.Read(log));
    }

    [Test]
    public void A_recording_in_memory_comes_back_bit_for_bit()
    {
        using var folder = TestPaths.NewFolder();
        var recording = new Recording
        {
            Name = "r", Rate = new(59_940), ChannelNames = ["az", "gx"], Channels = [[1.0 / 3, -0.0, 1e-300], [5e8, 2, 3]],
            Labels = [new(new(5), new(1_000_000_007), "a,b")], Info = new() { Invented = true, RangeG = 8, Rate = new(59_940) },
        };
        RecordingFile.Write(folder.File("r.parquet"), recording);
        Same(RecordingFile.Read(folder.File("r.parquet")), recording);
    }

    [Test]
    public void Long_columns_go_over_several_row_groups()
    {
        using var import = new Importing();
        string log = import.File("log.csv", "ax_g\n" + string.Concat(Enumerable.Range(0, 300_000).Select(i => $"{i % 1000}\n")));
        RecordingImport.Write(import.Survey(log, "rate: 50 Hz\n", parquet: true));
        using var file = new ParquetFileReader(Path.Combine(import.Out, "log.parquet"));
        Assert.That(file.FileMetaData.NumRowGroups, Is.EqualTo(3));
        Assert.That(RecordingFile.Read(Path.Combine(import.Out, "log.parquet")).Channels[0], Is.EqualTo(Enumerable.Range(0, 300_000).Select(i => (double)(i % 1000))));
    }

    [TestCase("")]
    [TestCase("PAR1")]
    [TestCase("PAR1 this is none PAR1")]
    public void What_is_no_parquet_is_a_fault(string text)
    {
        using var import = new Importing();
        string path = import.File("r.parquet", text);
        Assert.That(() => RecordingFile.Read(path), Throws.TypeOf<BadInputException>().With.Message.Contains("r.parquet: no Parquet file that can be read"));
    }

    /// <summary>Found by damaging files: the library went on without end on such a footer.</summary>
    [Test]
    public void A_damaged_footer_is_a_fault_not_a_hang()
    {
        using var import = new Importing();
        string log = import.File("log.csv", "ax_g\n1\n2\n");
        RecordingImport.Write(import.Survey(log, "rate: 50 Hz\n", parquet: true));
        string path = Path.Combine(import.Out, "log.parquet");
        byte[] good = File.ReadAllBytes(path);
        var messages = new HashSet<string>();
        // Every byte of the footer and of the page header, one bit after the other.
        for (int at = 4; at < good.Length; at++)
        {
            for (int bit = 0; bit < 8; bit++)
            {
                byte[] bad = [.. good];
                bad[at] ^= (byte)(1 << bit);
                File.WriteAllBytes(path, bad);
                try { Assert.That(RecordingFile.Read(path).SampleCount, Is.InRange(1, 2)); }
                catch (BadInputException fault) { messages.Add(fault.Message); }
            }
        }
        Assert.That(messages, Has.Count.GreaterThan(5));
        Assert.That(messages, Has.Some.Contain("no footer at the end"));
    }

    private static void Same(Recording read, Recording expected)
    {
        Assert.That(read.Rate, Is.EqualTo(expected.Rate));
        Assert.That(read.ChannelNames, Is.EqualTo(expected.ChannelNames));
        for (int c = 0; c < read.Channels.Count; c++) { Assert.That(read.Channels[c].Select(BitConverter.DoubleToInt64Bits), Is.EqualTo(expected.Channels[c].Select(BitConverter.DoubleToInt64Bits))); }
        Assert.That(read.Labels, Is.EqualTo(expected.Labels));
        Assert.That(read.Info, Is.EqualTo(expected.Info));
    }
}
