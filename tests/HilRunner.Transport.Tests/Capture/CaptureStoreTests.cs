using System.Text;
using CsCheck;
using HilRunner.Core;
using HilRunner.Core.Capture;
using HilRunner.Core.Time;
using HilRunner.Testing;
using HilRunner.Transport.Capture;

namespace HilRunner.Transport.Tests.Capture;

public class CaptureStoreTests
{
    private static readonly HostClock Clock = new(TimeProvider.System);

    [Test]
    public void What_was_written_is_read_back_in_order_on_the_unix_time_scale()
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        string path = folder.File("link.pcapng");
        HostTime start = Clock.Now;
        using (ICaptureWriter writer = new CaptureStore().Create(path, Clock))
        {
            writer.Event(start, RunEventNames.Opened, ("link", "/dev/x y=1%\n\u00e9"), ("empty", ""));
            writer.Bytes(CaptureKind.ToDevice, new(start.Ns + 1), "begin\n"u8);
            writer.Bytes(CaptureKind.FromDevice, new(start.Ns + 1_000_000_007), [0, 255, 10]);
            writer.Bytes(CaptureKind.FromDevice, start, []);
        }
        using ICaptureReader reader = new CaptureStore().Open(path);
        long unixNs = Clock.ToUnixNs(start);
        Assert.Multiple(() =>
        {
            Assert.That(ReadOne(reader), Is.EqualTo($"Event {unixNs} opened link=/dev/x y=1%\n\u00e9;empty=;"));
            Assert.That(ReadOne(reader), Is.EqualTo($"ToDevice {unixNs + 1} 626567696E0A"));
            Assert.That(ReadOne(reader), Is.EqualTo($"FromDevice {unixNs + 1_000_000_007} 00FF0A"));
            Assert.That(ReadOne(reader), Is.EqualTo($"FromDevice {unixNs} "));
            Assert.That(reader.TryRead(out _), Is.False);
            Assert.That(reader.EndsInMidRecord, Is.False);
        });
    }

    [Test]
    public void Random_records_round_trip_through_parts_of_any_size() =>
        Gen.Select(Gen.Int[1024, 6000], RecordGen.Array[0, 40]).Sample((partBytes, records) =>
        {
            using TemporaryFolder folder = TestPaths.NewFolder();
            string path = folder.File("link.pcapng");
            Write(new CaptureStore(partBytes), path, records);
            Assert.That(ReadAll(path), Is.EqualTo(records.Select(Describe)));
        }, iter: 300);

    [Test]
    public void A_capture_cut_off_at_any_byte_of_its_last_blocks_keeps_every_whole_record()
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        string path = folder.File("link.pcapng");
        var records = new List<Record>
        {
            new(CaptureKind.ToDevice, 1, [1, 2, 3], ""),
            new(CaptureKind.FromDevice, 2, [.. Enumerable.Range(0, 61).Select(i => (byte)i)], ""),
            new(CaptureKind.Event, 3, [], "v w"),
        };
        var ends = new List<long>();
        using (ICaptureWriter writer = new CaptureStore().Create(path, Clock))
        {
            ends.Add(new FileInfo(path).Length);
            foreach (Record record in records)
            {
                WriteOne(writer, record);
                writer.Flush();
                ends.Add(new FileInfo(path).Length);
            }
        }
        byte[] whole = File.ReadAllBytes(path);
        Assert.That(whole, Has.Length.EqualTo(ends[^1]));
        string cut = folder.File("cut.pcapng");
        for (int length = 0; length <= whole.Length; length++)
        {
            File.WriteAllBytes(cut, whole[..length]);
            int expected = Math.Max(0, ends.FindLastIndex(end => end <= length));
            using ICaptureReader reader = new CaptureStore().Open(cut);
            for (int i = 0; i < expected; i++) { Assert.That(ReadOne(reader), Is.EqualTo(Describe(records[i])), $"cut at {length}"); }
            Assert.That(reader.TryRead(out _), Is.False, $"cut at {length}");
            if (length >= ends[0]) { Assert.That(reader.EndsInMidRecord, Is.EqualTo(!ends.Contains(length)), $"cut at {length}"); }
        }
    }

    [Test]
    public void A_growing_capture_is_followed_byte_by_byte_and_into_the_next_part()
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        string path = folder.File("link.pcapng");
        var records = Enumerable.Range(0, 60).Select(i => new Record(CaptureKind.FromDevice, i, new byte[i], "")).ToList();
        Write(new CaptureStore(2000), path, records);
        string[] parts = Directory.GetFiles(folder.Path);
        Assert.That(parts, Has.Length.GreaterThan(2).And.Contains(folder.File("link.1.pcapng")));

        using TemporaryFolder growing = TestPaths.NewFolder();
        var read = new List<string>();
        File.WriteAllBytes(growing.File("link.pcapng"), []);
        using ICaptureReader reader = new CaptureStore().Open(growing.File("link.pcapng"));
        for (int part = 0; part < parts.Length; part++)
        {
            string name = part == 0 ? "link.pcapng" : $"link.{part}.pcapng";
            using FileStream target = new(growing.File(name), FileMode.OpenOrCreate, FileAccess.Write, FileShare.ReadWrite);
            foreach (byte b in File.ReadAllBytes(folder.File(name)))
            {
                target.WriteByte(b);
                target.Flush();
                while (reader.TryRead(out CaptureRecord record)) { read.Add(Describe(record)); }
            }
        }
        Assert.That(read, Is.EqualTo(records.Select(Describe)));
    }

    [Test]
    public void Damage_is_reported_with_its_place_and_never_otherwise()
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        string path = folder.File("link.pcapng");
        Write(new CaptureStore(), path, [.. Enumerable.Range(0, 20).Select(i => new Record((CaptureKind)(i % 3), i, new byte[i * 3], "value"))]);
        byte[] whole = File.ReadAllBytes(path);
        int reported = 0;
        Gen.Select(Gen.Int[0, whole.Length - 1], Gen.Byte).Array[1, 4].Sample(changes =>
        {
            byte[] damaged = [.. whole];
            foreach ((int at, byte value) in changes) { damaged[at] = value; }
            using TemporaryFolder own = TestPaths.NewFolder("damage");
            File.WriteAllBytes(own.File("d.pcapng"), damaged);
            using ICaptureReader reader = new CaptureStore().Open(own.File("d.pcapng"));
            try
            {
                int records = 0;
                while (reader.TryRead(out _)) { records++; }
                Assert.That(records, Is.LessThanOrEqualTo(whole.Length / 12));
            }
            catch (BadInputException exception)
            {
                Interlocked.Increment(ref reported);
                Assert.That(exception.Message, Does.Contain("d.pcapng: damaged at byte "));
            }
        }, iter: 2000);
        Assert.That(reported, Is.GreaterThan(0));
    }

    [Test]
    public void A_file_of_another_kind_is_named_as_such()
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("x.pcapng"), "t_s,class\n0,resting\n");
        using ICaptureReader reader = new CaptureStore().Open(folder.File("x.pcapng"));
        Assert.That(() => reader.TryRead(out _), Throws.TypeOf<BadInputException>().With.Message.Contains("no pcapng file"));
    }

    [Test]
    public void Nothing_is_ever_overwritten()
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("link.pcapng"), "evidence");
        File.WriteAllText(folder.File("other.1.pcapng"), "evidence");
        Assert.That(() => new CaptureStore().Create(folder.File("link.pcapng"), Clock), Throws.InstanceOf<IOException>());
        Assert.That(() => new CaptureStore().Create(folder.File("other.pcapng"), Clock), Throws.InstanceOf<IOException>());
        Assert.That(File.ReadAllText(folder.File("link.pcapng")), Is.EqualTo("evidence"));
    }

    [Test]
    public void Fifty_milliseconds_after_the_last_flush_the_next_record_takes_all_to_the_file()
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        string path = folder.File("link.pcapng");
        using ICaptureWriter writer = new CaptureStore().Create(path, Clock);
        using ICaptureReader reader = new CaptureStore().Open(path);
        HostTime start = Clock.Now;
        writer.Bytes(CaptureKind.FromDevice, start, [1]);
        writer.Bytes(CaptureKind.FromDevice, new(start.Ns + 49_999_999), [2]);
        Assert.That(reader.TryRead(out _), Is.False);
        writer.Bytes(CaptureKind.FromDevice, new(start.Ns + 50_000_000), [3]);
        for (byte i = 1; i <= 3; i++) { Assert.That(ReadOne(reader), Does.EndWith($" 0{i}")); }
        writer.Bytes(CaptureKind.FromDevice, new(start.Ns + 60_000_000), [4]);
        Assert.That(reader.TryRead(out _), Is.False);
        writer.Flush();
        Assert.That(ReadOne(reader), Does.EndWith(" 04"));
    }

    [Test]
    public void A_next_part_that_cannot_be_created_ends_the_capture_and_later_ones_say_so()
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        string path = folder.File("link.pcapng");
        ICaptureWriter writer = new CaptureStore(1024).Create(path, Clock);
        File.WriteAllText(folder.File("link.1.pcapng"), "in the way");
        Assert.That(() => { for (int i = 0; i < 3; i++) { writer.Bytes(CaptureKind.FromDevice, new(i), new byte[500]); } },
            Throws.InstanceOf<IOException>());
        Assert.That(() => writer.Bytes(CaptureKind.FromDevice, new(9), [1]), Throws.InstanceOf<IOException>().With.Message.Contains("earlier"));
        Assert.That(writer.Flush, Throws.InstanceOf<IOException>());
        Assert.That(writer.Dispose, Throws.Nothing);
    }

    [Test]
    public void Writing_a_record_allocates_nothing()
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        using ICaptureWriter writer = new CaptureStore().Create(folder.File("link.pcapng"), Clock);
        byte[] data = new byte[64];
        Round(1000);
        Assert.That(Allocated.Least(() => Round(100_000)), Is.Zero);

        void Round(int records)
        {
            for (int i = 0; i < records; i++)
            {
                var at = new HostTime(i * 100_000L);
                writer.Bytes(CaptureKind.FromDevice, at, data);
                if (i % 10 == 0) { writer.Event(at, RunEventNames.Step, ("step", "wait")); }
            }
        }
    }

    [Test]
    public void Several_threads_may_write_and_no_record_is_torn()
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        string path = folder.File("link.pcapng");
        using (ICaptureWriter writer = new CaptureStore(100_000).Create(path, Clock))
        {
            Parallel.For(0, 4, thread =>
            {
                for (int i = 0; i < 2000; i++) { writer.Bytes(CaptureKind.FromDevice, Clock.Now, [(byte)thread, (byte)i, (byte)(i >> 8)]); }
            });
        }
        var next = new int[4];
        foreach (string record in ReadAll(path))
        {
            byte[] bytes = Convert.FromHexString(record.Split(' ')[2]);
            Assert.That(bytes[1] | bytes[2] << 8, Is.EqualTo(next[bytes[0]]++));
        }
        Assert.That(next, Is.All.EqualTo(2000));
    }

    internal sealed record Record(CaptureKind Kind, long Ns, byte[] Bytes, string Value);

    internal static void Write(CaptureStore store, string path, IReadOnlyList<Record> records)
    {
        using ICaptureWriter writer = store.Create(path, Clock);
        foreach (Record record in records) { WriteOne(writer, record); }
    }

    private static readonly Gen<Record> RecordGen = Gen.Select(Gen.Int[0, 2], Gen.Long[0, 1L << 40], Gen.Byte.Array[0, 700], Gen.String[0, 40],
        (kind, ns, bytes, value) => new Record((CaptureKind)kind, ns, kind == 2 ? [] : bytes, kind == 2 ? WellFormed(value) : ""));

    /// <summary>A lone surrogate has no UTF-8 form.</summary>
    private static string WellFormed(string text) => Encoding.UTF8.GetString(Encoding.UTF8.GetBytes(text));

    private static void WriteOne(ICaptureWriter writer, Record record)
    {
        if (record.Kind == CaptureKind.Event) { writer.Event(new(record.Ns), "step", ("a b", record.Value)); }
        else { writer.Bytes(record.Kind, new(record.Ns), record.Bytes); }
    }

    private static string Describe(Record record) => record.Kind == CaptureKind.Event
        ? $"Event {Clock.ToUnixNs(new(record.Ns))} step a b={record.Value};"
        : $"{record.Kind} {Clock.ToUnixNs(new(record.Ns))} {Convert.ToHexString(record.Bytes)}";

    private static string Describe(CaptureRecord record) => record.Event is { } e
        ? $"Event {record.At.Ns} {e.Name} {string.Concat(e.Details.Select(d => $"{d.Key}={d.Value};"))}"
        : $"{record.Kind} {record.At.Ns} {Convert.ToHexString(record.Bytes.Span)}";

    private static string ReadOne(ICaptureReader reader) => reader.TryRead(out CaptureRecord record) ? Describe(record) : "(none)";

    private static List<string> ReadAll(string path)
    {
        using ICaptureReader reader = new CaptureStore().Open(path);
        var all = new List<string>();
        while (reader.TryRead(out CaptureRecord record)) { all.Add(Describe(record)); }
        Assert.That(reader.EndsInMidRecord, Is.False);
        return all;
    }
}
