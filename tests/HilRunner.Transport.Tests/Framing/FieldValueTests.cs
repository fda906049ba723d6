using System.Globalization;
using HilRunner.Core.Rigs;
using HilRunner.Transport.Framing;

namespace HilRunner.Transport.Tests.Framing;

public class FieldValueTests
{
    /// <summary>Reference: int.to_bytes and struct.pack of Python.</summary>
    [Test]
    public void Every_type_reads_and_writes_as_the_reference_does()
    {
        var random = new Random(5);
        var cases = new List<(FieldType Type, Int128 Value)>();
        foreach (FieldType type in Enum.GetValues<FieldType>())
        {
            Int128 span = Int128.One << 8 * FieldValue.Size(type);
            Int128 least = FieldValue.IsFloat(type) ? -1000 : FieldValue.IsSigned(type) ? -(span / 2) : 0;
            Int128 most = FieldValue.IsFloat(type) ? 1000 : least + span - 1;
            cases.AddRange([(type, least), (type, most), (type, 0), (type, 1)]);
            for (int i = 0; i < 20; i++) { cases.Add((type, least + (Int128)(random.NextDouble() * (double)(most - least) * 0.99))); }
        }
        const string Script = """
            import sys, struct
            for line in sys.stdin:
                kind, value = line.split()
                order = 'little' if kind.endswith('Le') or kind[1:] == '8' else 'big'
                bits = int(kind[1:].replace('Le', '').replace('Be', ''))
                if kind[0] == 'F':
                    data = struct.pack(('<' if order == 'little' else '>') + ('f' if bits == 32 else 'd'), int(value))
                else:
                    data = int(value).to_bytes(bits // 8, order, signed=kind[0] == 'I')
                print(data.hex().upper())
            """;
        string input = string.Concat(cases.Select(c => $"{c.Type} {c.Value.ToString(CultureInfo.InvariantCulture)}\n"));
        string[] expected = Python.Run(Script, input).Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.That(expected, Has.Length.EqualTo(cases.Count));
        for (int i = 0; i < cases.Count; i++)
        {
            (FieldType type, Int128 value) = cases[i];
            byte[] bytes = new byte[FieldValue.Size(type)];
            Assert.That(FieldValue.Fits(type, value), $"{type} {value}");
            FieldValue.WriteInteger(type, value, bytes);
            Assert.That(Convert.ToHexString(bytes), Is.EqualTo(expected[i]), $"{type} {value}");
            Assert.That(FieldValue.ReadNumber(type, bytes), Is.EqualTo((double)value), $"{type} {value}");
            if (!FieldValue.IsFloat(type)) { Assert.That(FieldValue.ReadInteger(type, bytes), Is.EqualTo(value), $"{type} {value}"); }
        }
    }

    [Test]
    public void What_lies_just_outside_does_not_fit()
    {
        foreach (FieldType type in Enum.GetValues<FieldType>().Where(t => !FieldValue.IsFloat(t)))
        {
            Int128 span = Int128.One << 8 * FieldValue.Size(type);
            Int128 least = FieldValue.IsSigned(type) ? -(span / 2) : 0;
            Assert.That(FieldValue.Fits(type, least - 1), Is.False, $"{type}");
            Assert.That(FieldValue.Fits(type, least + span), Is.False, $"{type}");
        }
    }
}
