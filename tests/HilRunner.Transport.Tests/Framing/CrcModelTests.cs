using System.Globalization;
using System.Text;
using HilRunner.Testing;
using HilRunner.Transport.Framing;

namespace HilRunner.Transport.Tests.Framing;

public class CrcModelTests
{
    private static readonly byte[] Nine = Encoding.ASCII.GetBytes("123456789");

    // Check values of the published catalogue of parametrised CRCs, recomputed bit by bit below; the value over no bytes follows
    // from the parameters.
    [TestCase("CRC-8/SMBUS", 8, 0xF4UL, 0x00UL)]
    [TestCase("CRC-8 poly 2F", 8, 0xDFUL, 0x00UL)]
    [TestCase("CRC-16/ARC", 16, 0xBB3DUL, 0x0000UL)]
    [TestCase("CRC-16/MODBUS", 16, 0x4B37UL, 0xFFFFUL)]
    [TestCase("CRC-16/USB", 16, 0xB4C8UL, 0x0000UL)]
    [TestCase("CRC-16/XMODEM", 16, 0x31C3UL, 0x0000UL)]
    [TestCase("CRC-16/IBM-3740", 16, 0x29B1UL, 0xFFFFUL)]
    [TestCase("CRC-16/GENIBUS", 16, 0xD64EUL, 0x0000UL)]
    [TestCase("CRC-16 poly 1021 init 1D0F", 16, 0xE5CCUL, 0x1D0FUL)]
    [TestCase("CRC-16/KERMIT", 16, 0x2189UL, 0x0000UL)]
    [TestCase("CRC-16/IBM-SDLC", 16, 0x906EUL, 0x0000UL)]
    [TestCase("CRC-16 poly 1021 reflected, no final xor", 16, 0x6F91UL, 0xFFFFUL)]
    [TestCase("CRC-32/ISO-HDLC", 32, 0xCBF43926UL, 0x00000000UL)]
    [TestCase("CRC-32/ISCSI", 32, 0xE3069283UL, 0x00000000UL)]
    [TestCase("CRC-32/BZIP2", 32, 0xFC891918UL, 0x00000000UL)]
    [TestCase("CRC-32/MPEG-2", 32, 0x0376E6E7UL, 0xFFFFFFFFUL)]
    [TestCase("CRC-32/JAMCRC", 32, 0x340BC6D9UL, 0xFFFFFFFFUL)]
    public void Check_value_and_value_of_no_bytes_are_the_published_ones(string name, int width, ulong check, ulong empty)
    {
        CrcModel model = CrcModel.ByName(name);
        Assert.Multiple(() =>
        {
            Assert.That(model.WidthBits, Is.EqualTo(width));
            Assert.That(model.Check, Is.EqualTo(check));
            Assert.That(model.Compute(Nine), Is.EqualTo(check));
            Assert.That(model.Compute([]), Is.EqualTo(empty));
        });
    }

    [Test]
    public void Every_model_has_a_row_above() => Assert.That(CrcModel.All, Has.Count.EqualTo(17));

    // RFC 1662 appendix C: the register over data and its FCS, before the final complement, is F0B8 (16) and DEBB20E3 (32).
    [TestCase("CRC-16/IBM-SDLC", "6E90", 0xF0B8UL)]
    [TestCase("CRC-32/ISO-HDLC", "2639F4CB", 0xDEBB20E3UL)]
    public void Residue_over_data_and_check_sum_is_the_good_one(string name, string sent, ulong residue)
    {
        byte[] whole = [.. Nine, .. Convert.FromHexString(sent)];
        Assert.That(CrcModel.ByName(name).Register(whole), Is.EqualTo(residue));
    }

    // Widely quoted Modbus RTU frames; the check sum is sent low byte first.
    [TestCase("0207", "4112")]
    [TestCase("01030000000A", "C5CD")]
    [TestCase("1103006B0003", "7687")]
    [TestCase("010600010003", "980B")]
    [TestCase("110306AE4156524340", "49AD")]
    public void Modbus_frames_carry_the_quoted_check_sums(string frame, string sent)
    {
        ulong crc = CrcModel.ByName("CRC-16/MODBUS").Compute(Convert.FromHexString(frame));
        Assert.That(Convert.ToHexString([(byte)crc, (byte)(crc >> 8)]), Is.EqualTo(sent));
    }

    [Test]
    public void Tables_agree_with_the_definition_bit_by_bit()
    {
        var random = new Random(20240611);
        foreach (CrcModel model in CrcModel.All)
        {
            for (int length = 0; length < 70; length++)
            {
                byte[] bytes = new byte[length];
                random.NextBytes(bytes);
                Assert.That(model.Compute(bytes), Is.EqualTo(BitByBit(model, bytes)), $"{model.Name}, {length} bytes");
            }
        }
    }

    [Test]
    public void Agrees_with_zlib_and_binascii()
    {
        var random = new Random(7);
        var inputs = new List<byte[]>();
        for (int i = 0; i < 50; i++)
        {
            byte[] bytes = new byte[random.Next(0, 3000)];
            random.NextBytes(bytes);
            inputs.Add(bytes);
        }
        const string Script = """
            import sys, zlib, binascii
            for line in sys.stdin:
                data = bytes.fromhex(line.strip())
                print(zlib.crc32(data), binascii.crc_hqx(data, 0), binascii.crc_hqx(data, 0xFFFF))
            """;
        string answer = Python.Run(Script, string.Concat(inputs.Select(i => Convert.ToHexString(i) + "\n")));
        string[] lines = answer.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.That(lines, Has.Length.EqualTo(inputs.Count));
        for (int i = 0; i < inputs.Count; i++)
        {
            ulong[] expected = [.. lines[i].Split(' ').Select(v => ulong.Parse(v, CultureInfo.InvariantCulture))];
            ulong[] found =
            [
                CrcModel.ByName("CRC-32/ISO-HDLC").Compute(inputs[i]),
                CrcModel.ByName("CRC-16/XMODEM").Compute(inputs[i]),
                CrcModel.ByName("CRC-16/IBM-3740").Compute(inputs[i]),
            ];
            Assert.That(found, Is.EqualTo(expected), $"input {i}");
        }
    }

    [Test]
    public void The_table_of_the_readme_is_the_code()
    {
        string[] rows = [.. File.ReadLines(Path.Combine(TestPaths.Root, "src/HilRunner.Transport/Framing/README.md")).Where(l => l.StartsWith("| CRC-", StringComparison.Ordinal))];
        Assert.That(rows, Is.EqualTo(CrcModel.All.Select(m =>
        {
            string digits = "X" + m.WidthBits / 4;
            string[] hex = [.. new[] { m.Polynomial, m.Initial, m.FinalXor, m.Check }.Select(v => v.ToString(digits, CultureInfo.InvariantCulture))];
            return $"| {m.Name} | {m.WidthBits} | {hex[0]} | {hex[1]} | {(m.Reflected ? "yes" : "no")} | {hex[2]} | {hex[3]} |";
        })));
    }

    [Test]
    public void An_unknown_name_lists_the_known_ones() =>
        Assert.That(() => CrcModel.ByName("CCITT"),
            Throws.TypeOf<InvalidDataException>().With.Message.Contains("\"CCITT\"").And.Message.Contains("CRC-16/IBM-3740"));

    private static ulong BitByBit(CrcModel model, byte[] bytes)
    {
        ulong mask = ulong.MaxValue >> (64 - model.WidthBits);
        ulong register = model.Initial;
        foreach (byte b in bytes)
        {
            for (int i = 0; i < 8; i++)
            {
                ulong bit = (ulong)(b >> (model.Reflected ? i : 7 - i)) & 1;
                ulong top = (register >> (model.WidthBits - 1)) & 1;
                register = (register << 1) & mask;
                if ((bit ^ top) != 0) { register ^= model.Polynomial; }
            }
        }
        if (model.Reflected)
        {
            ulong reversed = 0;
            for (int i = 0; i < model.WidthBits; i++) { reversed = (reversed << 1) | ((register >> i) & 1); }
            register = reversed;
        }
        return register ^ model.FinalXor;
    }
}
