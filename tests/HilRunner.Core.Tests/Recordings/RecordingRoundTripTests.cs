using CsCheck;
using HilRunner.Core.Recordings;
using HilRunner.Core.Time;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Recordings;

public class RecordingRoundTripTests
{
    private static readonly string[][] s_channels = [["az"], ["ax", "ay", "az"], ["gz", "ax"], ["ax", "ay", "az", "gx", "gy", "gz"]];

    private static readonly Gen<string?> s_text = Gen.OneOf(
        Gen.Const((string?)null),
        Gen.String.Where(s => s.Length > 0 && s.All(c => !char.IsSurrogate(c))).Select(s => (string?)s),
        Gen.OneOf<string?>("yes", "~", "null", "a: b # c", " x ", "-", "\"", "\\", "line\nline", "\t", "µ g ²", "🙂", "\u0085\u2028\uFEFF", new string('w', 300)));

    private static readonly Gen<RecordingInfo> s_info = Gen.Select(
        Gen.Double[1e-3, 1e3].Nullable(), s_text, s_text, s_text, s_text, Gen.Bool,
        (range, source, mounting, provenance, licence, invented) => new RecordingInfo
        {
            RangeG = range, Source = source, Mounting = mounting, Provenance = provenance, Licence = licence, Invented = invented,
        });

    private static readonly Gen<string> s_class = Gen.OneOf(
        Gen.OneOf("resting", "carried", "a,b", "say \"x\"", " padded ", "two\nlines", "two\r\nlines", "µ", "\""),
        Gen.String[Gen.Char[' ', '~'], 1, 12].Where(s => !string.IsNullOrWhiteSpace(s)));

    private static readonly Gen<Recording> s_recording =
        from milliHertz in Gen.OneOf(Gen.Long[1, 10_000_000_000], Gen.OneOf(50_000L, 59_940L, 1L, 33_333L, 1_000_000L))
        from names in Gen.OneOf(s_channels)
        from length in Gen.Int[1, 50]
        from values in Gen.Double[-1e9, 1e9].Array[length].Array[names.Length]
        from small in Gen.Double[-16, 16].Array[length]
        from gaps in Gen.Long[0, 2_000_000_000].Array[0, 8]
        from classes in s_class.Array[gaps.Length]
        from info in s_info
        select Made(new SampleRate(milliHertz), names, [small, .. values[1..]], gaps, classes, info);

    [Test]
    public void What_is_written_is_read_again_bit_for_bit()
    {
        using var folder = TestPaths.NewFolder();
        string path = folder.File("r.csv");
        s_recording.Sample(recording =>
        {
            RecordingFile.Write(path, recording);
            var read = RecordingFile.Read(path);
            Assert.That(read.Rate, Is.EqualTo(recording.Rate));
            Assert.That(read.ChannelNames, Is.EqualTo(recording.ChannelNames));
            for (int c = 0; c < read.Channels.Count; c++)
            {
                Assert.That(read.Channels[c].Select(BitConverter.DoubleToInt64Bits), Is.EqualTo(recording.Channels[c].Select(BitConverter.DoubleToInt64Bits)));
            }
            Assert.That(read.Labels, Is.EqualTo(recording.Labels));
            Assert.That(read.Info, Is.EqualTo(recording.Info with { Rate = recording.Rate }));
        }, iter: 1000, threads: 1);
    }

    private static Recording Made(SampleRate rate, string[] names, double[][] values, long[] gaps, string[] classes, RecordingInfo info)
    {
        var labels = new List<LabelInterval>();
        long at = 0;
        for (int i = 0; i < gaps.Length; i++)
        {
            long start = at + (i % 2 == 0 ? 0 : gaps[i]);
            at = start + gaps[i] + 1;
            labels.Add(new(new(start), new(at), classes[i]));
        }
        return new() { Name = "r", Rate = rate, ChannelNames = names, Channels = values, Labels = labels, Info = info };
    }
}
