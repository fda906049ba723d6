using System.Text;
using HilRunner.Core.Messages;
using HilRunner.Core.Rigs;
using HilRunner.Core.Time;
using HilRunner.Testing;
using HilRunner.Transport.Decoding;
using HilRunner.Transport.Tests.Framing;

namespace HilRunner.Transport.Tests.Decoding;

public class AdapterTests
{
    private static readonly int[][] Counts = [[1, 2], [-3, -4], [1000, 1001]];

    [Test]
    public void The_example_of_the_readme_encodes_and_decodes()
    {
        using TemporaryFolder folder = TestPaths.NewFolder();
        using IDeviceFormat format = new DeviceFormatFactory().Create(Device(ReadmeExample(folder)));
        using IDeviceDecoder decoder = format.NewDecoder();
        Assert.Multiple(() =>
        {
            Assert.That(Encoding.ASCII.GetString(format.Begin(new(50_000), 2)), Is.EqualTo("BEGIN\n"));
            Assert.That(Encoding.ASCII.GetString(format.Samples(Counts, 0, 2)), Is.EqualTo("+1/-3/1000,2/-4/1001\n"));
            Assert.That(Encoding.ASCII.GetString(format.Message(Devices.Text("t {token}"), 7)), Is.EqualTo("t 7\n"));
            Assert.That(Encoding.ASCII.GetString(format.End(2)), Is.EqualTo("END\n"));
        });
        Messages read = Messages.Decode(decoder, "r0\nc1z\n?!\nr10\nc"u8, 4);
        Assert.That(read.All.Select(m => (m.Class, m.N, m.FirstByte, m.LastByte, m.WireLength)), Is.EqualTo(new[]
        {
            ("resting", (long?)0, new HostTime(0), new HostTime(0), 3),
            ("carried", 71, new HostTime(0), new HostTime(4), 4),
            ("resting", 36, new HostTime(8), new HostTime(12), 4),
        }));
        Assert.That(decoder.Counts, Is.EqualTo(new DecoderCounts(3, 0, 1, 0)));
        Assert.That(decoder.Failure, Is.Null);
    }

    [TestCase("sys.exit('no such board')", "ended without an answer; its last words on stderr: no such board")]
    [TestCase("print('{\"error\": \"cannot\"}', flush=True)", "says: cannot")]
    [TestCase("print('hello', flush=True)", "says \"hello\"; expected one JSON object a line")]
    [TestCase("print('{\"message\": \"credit\", \"n\": 1, \"first\": 0, \"last\": 9}', flush=True)", "among the 3 bytes received")]
    [TestCase("print('{\"message\": \"joy\", \"first\": 0, \"last\": 0}', flush=True)", "message \"joy\"; expected one of decision")]
    [TestCase("print('{\"message\": \"decision\", \"first\": 0, \"last\": 0}', flush=True)", "no answer")]
    public void A_decoder_whose_program_fails_says_why_and_counts_what_it_cannot_read(string onDecode, string says)
    {
        using IDeviceFormat format = new DeviceFormatFactory().Create(Device("-c", Failing("decode", onDecode)));
        using IDeviceDecoder decoder = format.NewDecoder();
        Messages read = Messages.Decode(decoder, "abcdefg"u8, 3);
        Assert.That(read.All, Is.Empty);
        Assert.That(decoder.Failure, Does.Contain(says));
        Assert.That(decoder.Counts, Is.EqualTo(new DecoderCounts(0, 1, 0, 7)));
    }

    [TestCase("sys.exit(1)", "ended without an answer")]
    [TestCase("print('{\"done\": true}', flush=True)", "expected \"bytes\" in hexadecimal")]
    [TestCase("print('{\"done\": true, \"bytes\": \"xy\"}', flush=True)", "expected \"bytes\" in hexadecimal")]
    [TestCase("print('{\"bytes\": \"00\"}', flush=True)", "expected a line with \"done\"")]
    public void A_program_that_cannot_encode_stops_it(string onEncode, string says)
    {
        using IDeviceFormat format = new DeviceFormatFactory().Create(Device("-c", Failing("encode", onEncode)));
        Assert.That(() => format.Begin(new(50_000), 1), Throws.TypeOf<InvalidDataException>().With.Message.Contains(says));
    }

    [Test]
    public void A_program_that_hangs_is_given_up()
    {
        using IDeviceFormat format = new DeviceFormatFactory().Create(Device("-c", Failing("encode", "import threading; threading.Event().wait()")));
        Assert.That(() => format.End(1), Throws.TypeOf<InvalidDataException>().With.Message.Contains("gives no answer within 5 s"));
        Assert.That(() => format.End(1), Throws.TypeOf<InvalidDataException>().With.Message.Contains("failed earlier"));
    }

    [Test]
    public void A_program_that_is_not_there_is_said()
    {
        DeviceDescription device = Devices.Lines with { Framing = new(FramingKind.Adapter) { Program = "/no/such/program" } };
        Assert.That(() => new DeviceFormatFactory().Create(device), Throws.TypeOf<InvalidDataException>().With.Message.Contains("/no/such/program cannot be started"));
        Assert.That(() => new DeviceFormatFactory().Create(Devices.Lines with { Framing = new(FramingKind.Adapter) }),
            Throws.TypeOf<InvalidDataException>().With.Message.Contains("no program"));
    }

    private static DeviceDescription Device(params string[] arguments) =>
        Devices.Lines with { Framing = new(FramingKind.Adapter) { Program = Python.Path, Arguments = arguments } };

    private static string Failing(string request, string then) =>
        $"import sys, json\nfor text in sys.stdin:\n  if '{request}' in json.loads(text):\n    {then}\n  else:\n    print('{{\"done\": true}}', flush=True)\n";

    private static string ReadmeExample(TemporaryFolder folder)
    {
        string readme = File.ReadAllText(Path.Combine(TestPaths.Root, "src/HilRunner.Transport/Decoding/README.md"));
        const string Fence = "```python\n";
        int start = readme.IndexOf(Fence, StringComparison.Ordinal) + Fence.Length;
        string path = folder.File("adapter.py");
        File.WriteAllText(path, readme[start..readme.IndexOf("```", start, StringComparison.Ordinal)]);
        return path;
    }
}
