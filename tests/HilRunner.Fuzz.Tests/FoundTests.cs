using HilRunner.Fuzz.Tests.Readers;
using HilRunner.Fuzz.Tests.Running;
using HilRunner.Testing;

namespace HilRunner.Fuzz.Tests;

/// <summary>
/// What fuzzing has found, as small as it came to be: each was another exception than bad input, or took too long.
/// </summary>
[Platform("Linux")]
public class FoundTests
{
    private const string CaptureHead =
        "Cg0NCjAAAABNPCsaAQAAAP//////////BAAJAEhpbFJ1bm5lcgAAAAAAAAAwAAAAAQAAACwAAACTAAAAAAAAAAIABQBieXRlcwAAAAkAAQAJAAAAAAAAACwAAAABAAAALAAAAJQAAAAAAAAAAgAGAGV2ZW50cwAACQABAAkAAAAAAAAALAAAAAYAAABwAAAAAQAAADO27B";
    private const string CaptureTail = "IABAAAAAAAAAAAAHAAAAA=";

    /// <summary>Base64 of the whole input.</summary>
    [TestCase("model", "ICAgOiBlCg==", TestName = "A model of a value without a key")]
    [TestCase("model", "LQAAAAAAOg==", TestName = "A model of NULs")]
    [TestCase("model", "LQAAOiAxLjEK", TestName = "A model of a list with NULs")]
    [TestCase("model", "bW9kZWw6IGEKaW5wdXQ6CiAgcmF0ZTogNTAgSHoKICBjaGFubmVsczogeyI6IDEgbWd9Cg==",
        TestName = "A model with an open quotation mark among its channels")]
    [TestCase("model", "Li4uDS4AEAAA", TestName = "A model that ends before it begins")]
    [TestCase("suite",
        "LSAtIC0gLSAtIC0gLSAtIC0gLSAtIC0gLSAtIC0gLSAtIC0gLSAtIC0gLSAtIC0gLSAtIC0gLSAtIC0gLSAtIC0gLSAtIC0gLSAtIC0gLSAtIC0gLSAtIC0gLSAtIDogdGltaW5nIG8=", TestName = "A list that is deep, and a value without a key in it")]
    [TestCase("side file", "ICAgOiBlCg==", TestName = "A side file of a value without a key")]
    [TestCase("side file", "Li4uDS4AEAAA", TestName = "A side file that ends before it begins")]
    [TestCase("capture alone", CaptureHead
        + "hmjbXiRAAAAEQAAABzdGVwIHN0ZXA9Y2xvY2sgd2hlbj1hZnRlciB0b2tlbj0xMCBzZW50X3VuaXhfbnM9MTc5NjAxMDY4NTM3NzFyMTYzOA"
        + CaptureTail, TestName = "A letter in the time of a capture's event")]
    [TestCase("capture alone", CaptureHead
        + "hycH/eRAAAAEQAAABzdGVwIHN0ZXA9Y2xvY2sgd2hlbj1iZWZvcmUgdG9rZW49NiBzZW50X3VuaXhfbnM9MTc5NjAxMDY4NQAAAgAENjQxOA"
        + CaptureTail, TestName = "NULs in the time of a capture's event")]
    public void Is_refused_with_a_sentence(string name, string base64) => Refused(name, Convert.FromBase64String(base64));

    [TestCase("99999999999999999999", TestName = "A time that no clock holds")]
    [TestCase("1700000000000", TestName = "A time in Unix milliseconds in a column of seconds")]
    public void A_time_beyond_all_clocks_is_refused(string time) =>
    Refused("recording", DocumentReaders.Utf8($"t_s,ax_g,ay_g,az_g\n0,0,0,1\n{time},0,0,1\n"));

    [Test]
    public void A_channel_that_run_yaml_names_and_the_stimulus_lacks()
    {
        string[] rows = File.ReadAllLines(Path.Combine(SharedStock.Instance.Stock.Run, "stimulus.csv"));
        Refused("stimulus", DocumentReaders.Utf8(string.Concat(rows.Select(r => r[..r.LastIndexOf(',')] + "\n"))));
    }

    [TestCase("\"from_hz\": 2,", "\"from_hz\": 0,", TestName = "A table that moves from 0 Hz on, in octaves")]
    [TestCase("\"rate_hz\": 1000,", "\"rate_hz\": 1e308,", TestName = "A table that is told its positions at no sample rate")]
    [TestCase("\"trials\": [", "\"trials\": [null,", TestName = "A trial of a table that is null")]
    public void A_record_of_a_table_is_accepted_or_refused(string good, string bad)
    {
        var reader = ReaderTable.Of("table.json");
        string text = System.Text.Encoding.UTF8.GetString(reader.Seeds(SharedStock.Instance.Stock).First());
        Assert.That(text, Does.Contain(good));
        AcceptedOrRefused(reader, DocumentReaders.Utf8(text.Replace(good, bad, StringComparison.Ordinal)));
    }

    /// <summary>Was held several times over, as text.</summary>
    [TestCase("batch.json", 20)]
    [TestCase("sweep.json", 20)]
    [TestCase("marks", 25)]
    [TestCase("table_motion.csv", 18)]
    public void A_line_of_many_megabytes(string name, int megabytes)
    {
        var reader = ReaderTable.Of(name);
        byte[] good = reader.Seeds(SharedStock.Instance.Stock).First();
        // A record as one string more; a table as a row of empty cells.
        byte[] filled = [.. Enumerable.Repeat((byte)(reader.Form == Form.Json ? 'x' : ','), megabytes << 20)];
        byte[] bytes = reader.Form == Form.Json
            ? [(byte)'{', .. "\"more\": \""u8, .. filled, .. "\","u8, .. good[1..]] : [.. good[..^2], .. filled, .. good[^2..]];
        AcceptedOrRefused(reader, bytes);
    }

    /// <summary>Read as infinite, which no record can hold when it is written again.</summary>
    [TestCase("batch.json", "\"reportLatencyS\": [-0-9.e]+", "\"reportLatencyS\": -1e309")]
    [TestCase("sweep.json", "\"schema\": 1,", "\"schema\": 1,\"more\": [1e309],")]
    [TestCase("score.json", "\"accuracy\": [0-9.]+", "\"accuracy\": 1e309")]
    [TestCase("sweep.json", "\"level\": [-0-9.]+", "\"level\": 1e28")]
    public void A_number_that_is_too_large(string name, string good, string bad)
    {
        string text = System.Text.Encoding.UTF8.GetString(ReaderTable.Of(name).Seeds(SharedStock.Instance.Stock).First());
        string changed = new System.Text.RegularExpressions.Regex(good).Replace(text, bad, 1);
        Assert.That(changed, Is.Not.EqualTo(text));
        Refused(name, DocumentReaders.Utf8(changed));
    }

    /// <summary>The parser's own words repeated it whole, several times over.</summary>
    [TestCase("score.json")]
    [TestCase("batch.json")]
    public void A_word_of_many_megabytes(string name)
    {
        byte[] good = ReaderTable.Of(name).Seeds(SharedStock.Instance.Stock).First();
        int at = good.AsSpan().IndexOf("null"u8);
        byte[] bytes = [.. good[..at], .. Enumerable.Repeat((byte)'n', 15 << 20), .. good[at..]];
        AcceptedOrRefused(ReaderTable.Of(name), bytes);
    }

    [Test]
    public void A_history_whose_batch_has_no_key()
    {
        using var folder = TestPaths.NewFolder();
        string path = folder.File("history.db");
        File.Copy(SharedStock.Instance.Stock.History, path);
        using (var history = new Microsoft.Data.Sqlite.SqliteConnection($"Data Source={path};Pooling=false"))
        {
            history.Open();
            using var command = history.CreateCommand();
            command.CommandText =
                "pragma writable_schema = 1; update sqlite_master set sql = replace(sql, '\"key\" TEXT NOT NULL', '\"key\" TEXT') where name = 'batches'";
            Assert.That(command.ExecuteNonQuery(), Is.Positive);
        }
        using (var history = new Microsoft.Data.Sqlite.SqliteConnection($"Data Source={path};Pooling=false"))
        {
            history.Open();
            using var command = history.CreateCommand();
            command.CommandText = "update batches set key = null";
            Assert.That(command.ExecuteNonQuery(), Is.Positive);
        }
        Refused("history", File.ReadAllBytes(path));
    }

    /// <summary>Was looked for among all others, each time.</summary>
    [Test]
    public void Thousands_of_unknown_keys() =>
    Refused("import map",
        DocumentReaders.Utf8("import: many\n" + string.Concat(Enumerable.Range(0, 20_000).Select(i => $"key{i}: {i}\n"))));

    /// <summary>The place of each was counted from the start of the line.</summary>
    [Test]
    public void A_header_of_many_thousand_columns() =>
        Refused("recording", DocumentReaders.Utf8($"ax_g{string.Concat(Enumerable.Repeat(",~", 300_000))}\n1,2\n"));

    /// <summary>Each recording held 64 kB for the lengths of its steps, and a file may hold a hundred thousand.</summary>
    [Test]
    public void A_log_that_comes_apart_into_many_recordings()
    {
        string same = "{\"t\":40,\"acc\":{\"x\":0.9093,\"y\":0.1,\"z\":0.98}}\n";
        var log = new System.Text.StringBuilder(
            "{\"t\":0,\"acc\":{\"x\":0,\"y\":0.1,\"z\":0.98}}\n{\"t\":20,\"acc\":{\"x\":0.8,\"y\":0.1,\"z\":0.98}}\n");
        for (int i = 0; i < 20_000; i++) { log.Append(same); }
        AcceptedOrRefused(ReaderTable.Of("JSON log"), DocumentReaders.Utf8(log.ToString()));
    }

    [TestCase("identity: []", "identity:\n  - name: version\n    value: a\n  - name: version\n    value: b", TestName =
        "A run that says a word of its identity twice")]
    [TestCase("begin {rate_mhz}", "[[[[", TestName = "A begin message of brackets")]
    public void A_run_that_is_refused(string good, string bad)
    {
        string text = File.ReadAllText(Path.Combine(SharedStock.Instance.Stock.Run, "run.yaml"));
        string changed = System.Text.RegularExpressions.Regex.Replace(
            text, @"^identity:\n(  .*\n)+|^identity: .*\n", "identity: []\n",
            System.Text.RegularExpressions.RegexOptions.Multiline);
        Assert.That(changed, Does.Contain(good));
        Refused("run.yaml", DocumentReaders.Utf8(changed.Replace(good, bad, StringComparison.Ordinal)));
    }

    private static void Refused(string name, byte[] bytes)
    {
        var reader = ReaderTable.Of(name);
        using var folder = TestPaths.NewFolder();
        var read = reader.Open(SharedStock.Instance.Stock, folder.Path);
        var took = System.Diagnostics.Stopwatch.StartNew();
        Assert.That(() => read(bytes), Throws.Exception.Matches<Exception>(fault => reader.Refuses(fault)));
        Assert.That(took.Elapsed, Is.LessThan(TimeSpan.FromSeconds(Worker.LongestSeconds)), "what takes longer is to be told");
    }

    /// <summary>In a process whose heap cannot take the machine's memory.</summary>
    private static void AcceptedOrRefused(Reader reader, byte[] bytes)
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllBytes(folder.File("found"), bytes);
        using var worker = WorkerProcess.Start("read", SharedStock.Instance.Stock.Folder, reader.Name, folder.File("found"));
        worker.StandardInput.Close();
        var errors = worker.StandardError.ReadToEndAsync();
        string said = worker.StandardOutput.ReadToEnd();
        worker.WaitForExit();
        Assert.That(worker.ExitCode, Is.Zero, said + errors.Result);
    }
}
