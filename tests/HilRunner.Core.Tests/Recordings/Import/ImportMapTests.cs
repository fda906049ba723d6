using System.Text.RegularExpressions;
using HilRunner.Core.Recordings.Import;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Recordings.Import;

public class ImportMapTests
{
    public const string Everything = """
        import: everything
        file_name: 'a(?<n>\d+)\.txt'
        format: text
        encoding: utf-8
        separator: semicolon
        header: true
        skip: 3
        comment: "!"
        decimal: comma
        line_end: ";"
        quotes: true
        columns: {t: "time (ms)", ax: 2, ay: acc y, label: state}
        acceleration: 0.5 mg
        gyro: rad/s
        time: {tick: 1 ms, bits: 16}
        rate: 50 Hz
        gap: 200 ms
        at_gaps: split
        bad_rows: split
        split_by: [subject, "a b"]
        where: {subject: 3, "a b": 01}
        names: {A: walking}
        labels:
          path: labels.txt
          separator: space
          header: true
          columns: [class, first, last, exp]
          where: {exp: "{n}"}
          first_index: 0
          last: exclusive
          time: ms
          names: {1: walking}
        with: {path: b.txt, join: row, optional: true, columns: [gx, _], gyro: 70 mdps, time: iso}
        source: "person {n}"
        mounting: hip
        provenance: nowhere
        licence: MIT
        range: 8 g
        invented: true
        """;

    [Test]
    public void What_is_written_is_read_again()
    {
        using var import = new Importing();
        var map = ImportMapFile.Read(import.File("a.yaml", Everything));
        string Text(ImportMap m)
        {
            using var writer = new StringWriter();
            ImportMapFile.Write(writer, m);
            return writer.ToString();
        }
        string once = Text(map);
        Assert.That(Text(ImportMapFile.Read(import.File("b.yaml", once))), Is.EqualTo(once));
        // Every key of the example is there again, with its value.
        foreach (string part in new[] { "0.5 mg", "tick: 1000000 ns, bits: 16", "gap: 200000000 ns", "at_gaps: split", "bad_rows: split", "last: exclusive", "optional: true", "range: 8 g", "invented: true", "time: iso", "skip: 3", "decimal: comma" })
        {
            Assert.That(once, Does.Contain(part));
        }
    }

    [Test]
    public void All_faults_come_at_once()
    {
        using var import = new Importing();
        var faults = Assert.Throws<BadInputException>(() => ImportMapFile.Read(import.File("a.yaml", "import: x\nseperator: comma\nrate: 50\ncolumns: [t, t]\nfile_name: '('\nlabels: {columns: [start, first]}\n")))!.Faults;
        Assert.That(faults.Select(f => f.Line).Distinct().Order(), Is.EqualTo([2, 3, 4, 5, 6]));
        Assert.That(faults[0].ToString(), Does.Contain("did you mean separator?"));
    }

    [Test]
    public void Options_replace_keys_and_are_named_in_faults()
    {
        using var import = new Importing();
        string file = import.File("a.yaml", "import: x\nrate: 50 Hz\nlabels: {path: l.txt, first_index: 0}\n");
        var map = ImportMapFile.Read(file, [
            new("--rate", ["rate"], MapSettingForm.Value, ["100 Hz"]),
            new("--columns", ["columns"], MapSettingForm.ListOrPairs, ["ax=a,t=b"]),
            new("--label-columns", ["labels", "columns"], MapSettingForm.List, ["class,first"]),
        ]);
        Assert.That(map.Rate, Is.EqualTo(new Core.Time.SampleRate(100_000)));
        Assert.That(map.Reading.Columns, Is.EqualTo([new ImportColumn("ax", "a", 0), new ImportColumn("t", "b", 0)]));
        Assert.That(map.Labels!.Columns, Is.EqualTo(["class", "first"]));
        Assert.That(map.Labels.FirstIndex, Is.Zero);
        Assert.That(() => ImportMapFile.Read(null, [new("--rate", ["rate"], MapSettingForm.Value, ["50"])]),
            Throws.TypeOf<BadInputException>().With.Message.StartsWith("command line: --rate is \"50\" without a unit; expected a frequency"));
    }

    [Test]
    public void The_map_of_the_page_reads()
    {
        string page = File.ReadAllText(Path.Combine(TestPaths.Root, "src", "HilRunner.Core", "Recordings", "Import", "README.md"));
        using var import = new Importing();
        var map = ImportMapFile.Read(import.File("a.yaml", Regex.Match(page, "^```yaml\n(.*?)^```", RegexOptions.Singleline | RegexOptions.Multiline).Groups[1].Value));
        Assert.That(map.Names["1"], Is.EqualTo("carried"));
    }
}
